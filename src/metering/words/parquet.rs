//! The words of a Parquet log.

use parquet::errors::ParquetError;
use parquet::file::reader::FileReader;

use super::interner::Interner;
use super::{FoundColumn, Take, WordPass, cell_of, unreadable};
use crate::header::dialect::Dialect;
use crate::header::layout::Layout;
use crate::rows::parquet::column::{ColumnMeaning, Piece};
use crate::rows::parquet::file::SharedFile;
use crate::rows::parquet::log::{ParquetColumn, ROWS, header_of};
use crate::time::clock::Clock;
use message::{Message, Messages};

/// Reads the rows of a file whose readings were read before.
pub(super) fn read(
    pass: &WordPass<'_>,
    interner: &mut Interner,
    take: &mut Take,
) -> Result<FoundColumn, Box<Message>> {
    let file = SharedFile::open(pass.path).map_err(|error| unreadable(pass, &error))?;
    let damaged = |error: ParquetError| unreadable(pass, &error);
    let reader = file.reader().map_err(damaged)?;
    let dialect = Dialect {
        separator: b',',
        decimal: pass.meter.decimal.unwrap_or(b'.'),
        thousands: pass.meter.thousands,
    };
    let header = header_of(&reader);
    let layout = Layout::find(
        pass.name,
        &header,
        &dialect,
        &[pass.meter],
        &mut Messages::default(),
    );
    let Some(layout) = layout else {
        return Ok(FoundColumn::NotThere(Vec::new()));
    };
    let Some(cell) = cell_of(pass, &layout.header.names)? else {
        return Ok(FoundColumn::NotThere(layout.header.names));
    };
    let schema = reader.metadata().file_metadata().schema_descr();
    let Ok(meaning) = ColumnMeaning::of(&schema.column(layout.time.first)) else {
        return Ok(FoundColumn::NotThere(layout.header.names));
    };
    let mut clock = Clock::new(&pass.meter.time, pass.zone);
    for number in 0..reader.num_row_groups() {
        let group = reader.get_row_group(number).map_err(damaged)?;
        let mut times = ParquetColumn::open(&*group, layout.time.first).map_err(damaged)?;
        let mut words = ParquetColumn::open(&*group, cell).map_err(damaged)?;
        loop {
            let stamps = times.read(ROWS).map_err(damaged)?;
            let texts = words.read(ROWS).map_err(damaged)?;
            for row in 0..stamps.len().min(texts.len()) {
                let (reading, _) = stamps.time(row, meaning, &mut clock);
                take.row(reading, interner.number(&text(&texts, row)));
            }
            if stamps.len() == 0 {
                break;
            }
        }
    }
    Ok(FoundColumn::There)
}

/// What stands in a cell, numbers as they are written.
fn text(piece: &Piece, row: usize) -> Vec<u8> {
    match piece {
        Piece::Bytes(_) => piece.text(row).to_vec(),
        Piece::Whole(cells) => cells[row].map_or_else(Vec::new, |n| n.to_string().into_bytes()),
        Piece::Real(cells) => cells[row].map_or_else(Vec::new, |n| n.to_string().into_bytes()),
    }
}
