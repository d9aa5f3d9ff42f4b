//! The pages of a column of a Parquet file, each looked at before the reader library makes room for
//! what it claims to hold: an amount of memory that cannot be had ends the program.

use parquet::basic::Encoding;
use parquet::column::page::{Page, PageMetadata, PageReader};
use parquet::errors::{ParquetError, Result};

use crate::rows::parquet::delta::{delta_count, delta_list};

/// Pages that hold no more than their bytes can.
pub(crate) struct HonestPages {
    pages: Box<dyn PageReader>,
    /// May a row have no value?
    nullable: bool,
    /// Rows that the row group has left for further pages.
    rows_left: u64,
}

impl HonestPages {
    /// `rows` is what the row group says of itself.
    pub(crate) fn new(pages: Box<dyn PageReader>, nullable: bool, rows: u64) -> HonestPages {
        HonestPages {
            pages,
            nullable,
            rows_left: rows,
        }
    }

    fn look_at(&mut self, page: &Page) -> Result<()> {
        let claimed = u64::from(page.num_values());
        let bytes = page.buffer().len() as u64;
        if page.is_dictionary_page() {
            // No value takes less than a byte.
            return refuse_above("a dictionary", claimed, bytes);
        }
        refuse_above("a page", claimed, self.rows_left)?;
        self.rows_left -= claimed;
        for count in delta_counts(page, self.nullable) {
            refuse_above("a page", count, claimed)?;
        }
        Ok(())
    }
}

fn refuse_above(what: &str, claimed: u64, most: u64) -> Result<()> {
    if claimed <= most {
        return Ok(());
    }
    Err(ParquetError::General(format!(
        "{what} claims to hold {claimed} values, where there is room for {most}"
    )))
}

impl Iterator for HonestPages {
    type Item = Result<Page>;

    fn next(&mut self) -> Option<Result<Page>> {
        self.get_next_page().transpose()
    }
}

impl PageReader for HonestPages {
    fn get_next_page(&mut self) -> Result<Option<Page>> {
        let page = self.pages.get_next_page()?;
        if let Some(page) = &page {
            self.look_at(page)?;
        }
        Ok(page)
    }

    fn peek_next_page(&mut self) -> Result<Option<PageMetadata>> {
        self.pages.peek_next_page()
    }

    fn skip_next_page(&mut self) -> Result<()> {
        self.pages.skip_next_page()
    }
}

/// Where the library makes room at once for what the lists of differences of a page claim: the
/// lengths of texts, and how much each shares with the one before.
fn delta_counts(page: &Page, nullable: bool) -> Vec<u64> {
    let (Page::DataPage { encoding, .. } | Page::DataPageV2 { encoding, .. }) = page else {
        return Vec::new();
    };
    let Some(values) = values_of(page, nullable) else {
        return Vec::new();
    };
    match encoding {
        Encoding::DELTA_LENGTH_BYTE_ARRAY => delta_count(values).into_iter().collect(),
        Encoding::DELTA_BYTE_ARRAY => {
            let second = delta_list(values).and_then(|(_, behind)| delta_count(behind));
            delta_count(values).into_iter().chain(second).collect()
        }
        _ => Vec::new(),
    }
}

/// The values of a page of plain rows, behind what reports which of them are null.
fn values_of(page: &Page, nullable: bool) -> Option<&[u8]> {
    let bytes = page.buffer().as_ref();
    let before = match page {
        Page::DataPage { .. } if nullable => {
            let (length, _) = bytes.split_first_chunk()?;
            4 + u32::from_le_bytes(*length) as usize
        }
        Page::DataPageV2 {
            def_levels_byte_len,
            rep_levels_byte_len,
            ..
        } => (*def_levels_byte_len as usize).saturating_add(*rep_levels_byte_len as usize),
        _ => 0,
    };
    bytes.get(before..)
}
