//! The words of a text log.

use std::collections::HashMap;

use super::interner::Interner;
use super::{FoundColumn, Take, WordPass, cell_of, unreadable};
use crate::header::dialect::{Dialect, LogCell, read_cell};
use crate::header::layout::{Layout, TimeCells};
use crate::progress::Unwatched;
use crate::source::chunks::{Chunks, in_order};
use crate::source::records::Records;
use crate::source::text_source::{TextInput, TextSource};
use crate::time::cached_clock::CachedStamps;
use crate::time::clock::{Clock, Reading};
use message::{Message, Messages};
use site::TimeColumn;

/// Reads the rows of a file whose readings were read before.
pub(super) fn read(
    pass: &WordPass<'_>,
    interner: &mut Interner,
    take: &mut Take,
) -> Result<FoundColumn, Box<Message>> {
    let meter = pass.meter;
    let source = TextSource::open(TextInput::File(pass.path), &Unwatched)
        .map_err(|(error, _)| unreadable(pass, &error))?;
    let sample = source.sample;
    let dialect = Dialect::detect(&sample, meter.separator, meter.decimal, meter.thousands);
    // What is wrong with the layout was said when the readings were read.
    let layout = Layout::find(
        pass.name,
        &sample,
        &dialect,
        &[meter],
        &mut Messages::default(),
    );
    let Some(layout) = layout else {
        return Ok(FoundColumn::NotThere(Vec::new()));
    };
    let Some(cell) = cell_of(pass, &layout.header.names)? else {
        return Ok(FoundColumn::NotThere(layout.header.names));
    };
    let time = TimeColumn {
        format: pass.format.clone(),
        ..meter.time.clone()
    };
    let between = layout.time.second.is_some().then_some(dialect.separator);
    let rows = RowWords {
        clock: Clock::new(&time, pass.zone).of_two_cells(between),
        dialect,
        time: layout.time,
        cell,
        missing: &meter.missing,
    };
    let begun = sample.get(layout.header.bytes_before..).unwrap_or_default();
    in_order(
        Chunks::new(std::io::Read::chain(begun, source.rest)),
        |bytes| rows.read(bytes),
        |chunk| chunk.give(interner, take),
    )
    .map_err(|error| unreadable(pass, &error))?;
    Ok(FoundColumn::There)
}

/// Cells of time and word in a row.
struct RowWords<'m> {
    dialect: Dialect,
    clock: Clock,
    time: TimeCells,
    cell: usize,
    missing: &'m [String],
}

/// The words of a chunk, numbered within it, and its rows.
#[derive(Default)]
struct ChunkWords {
    words: Vec<Vec<u8>>,
    rows: Vec<(Reading, usize)>,
}

impl RowWords<'_> {
    fn read(&self, bytes: &[u8]) -> ChunkWords {
        let mut chunk = ChunkWords::default();
        let mut numbers: HashMap<Vec<u8>, usize> = HashMap::new();
        let mut stamps = CachedStamps::new(self.clock.clone());
        let mut records = Records::new(self.dialect.separator);
        let (mut rest, mut stamp) = (bytes, Vec::new());
        while let Some(consumed) = records.read(rest) {
            rest = &rest[consumed..];
            let text_of = |cell| records.get(cell).unwrap_or_default();
            self.time.stamp(self.dialect.separator, text_of, &mut stamp);
            let reading = stamps.read(&stamp);
            let word = self.word(text_of(self.cell));
            let number = numbers.get(word).copied().unwrap_or_else(|| {
                numbers.insert(word.to_vec(), chunk.words.len());
                chunk.words.push(word.to_vec());
                chunk.words.len() - 1
            });
            chunk.rows.push((reading, number));
        }
        chunk
    }

    /// The text of the cell; a word for a missing reading counts as nothing.
    fn word<'t>(&self, text: &'t [u8]) -> &'t [u8] {
        match read_cell(text, &self.dialect, self.missing) {
            LogCell::Missing => &[],
            _ => text.trim_ascii(),
        }
    }
}

impl ChunkWords {
    fn give(self, interner: &mut Interner, take: &mut Take) {
        let words: Vec<Option<usize>> = self
            .words
            .iter()
            .map(|word| interner.number(word))
            .collect();
        for (reading, word) in self.rows {
            take.row(reading, words[word]);
        }
    }
}
