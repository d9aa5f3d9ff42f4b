//! The header of a Parquet page, or the footer of the file, walked through before the library
//! reads it: so that none of its lists is longer than the bytes that it is written in.

use std::io::{self, Read};

/// Headers are in one another four deep; the library follows no more than 64.
const DEEPEST: usize = 64;

/// What a field holds, by the lower half of the byte that it begins with.
mod kind {
    pub(super) const TRUE: u8 = 1;
    pub(super) const FALSE: u8 = 2;
    pub(super) const BYTE: u8 = 3;
    pub(super) const WHOLE_16: u8 = 4;
    pub(super) const WHOLE_32: u8 = 5;
    pub(super) const WHOLE_64: u8 = 6;
    pub(super) const DOUBLE: u8 = 7;
    pub(super) const BYTES: u8 = 8;
    pub(super) const LIST: u8 = 9;
    pub(super) const SET: u8 = 10;
    pub(super) const MAP: u8 = 11;
    pub(super) const STRUCT: u8 = 12;
    pub(super) const UUID: u8 = 13;
}

/// Walks through one structure from its first byte to its last.
///
/// The library skips what it does not know without seeing that the bytes have ended, and truth
/// values of a list without taking a byte for them: a list may then claim thousands of millions of
/// either, in a file of a few bytes, and would be counted through to its end. No header of the format
/// has a list of truth values.
///
/// Source: Apache Thrift, compact protocol; Apache Parquet format, `parquet.thrift`.
///
/// # Errors
///
/// Where the structure breaks off, is none, or holds truth values in a list.
pub(crate) fn walk(bytes: &mut impl Read) -> io::Result<()> {
    skip(bytes, kind::STRUCT, DEEPEST)
}

fn skip(bytes: &mut impl Read, what: u8, depth: usize) -> io::Result<()> {
    let Some(depth) = depth.checked_sub(1) else {
        return Err(damaged("its structures are nested too deeply"));
    };
    match what {
        kind::TRUE | kind::FALSE => Ok(()),
        kind::BYTE => skip_bytes(bytes, 1),
        kind::WHOLE_16 | kind::WHOLE_32 | kind::WHOLE_64 => whole(bytes).map(drop),
        kind::DOUBLE => skip_bytes(bytes, 8),
        kind::BYTES => {
            let length = whole(bytes)?;
            skip_bytes(bytes, length)
        }
        kind::LIST | kind::SET => skip_list(bytes, depth),
        kind::MAP => skip_map(bytes, depth),
        kind::STRUCT => skip_struct(bytes, depth),
        kind::UUID => skip_bytes(bytes, 16),
        _ => Err(damaged("a field has an unknown type")),
    }
}

fn skip_struct(bytes: &mut impl Read, depth: usize) -> io::Result<()> {
    loop {
        let first = byte(bytes)?;
        let (step, what) = (first >> 4, first & 0x0f);
        if what == 0 {
            return Ok(());
        }
        if step == 0 {
            // The number of the field stands by itself.
            whole(bytes)?;
        }
        skip(bytes, what, depth)?;
    }
}

fn skip_list(bytes: &mut impl Read, depth: usize) -> io::Result<()> {
    const COUNTED_APART: u8 = 15;
    let first = byte(bytes)?;
    let count = match first >> 4 {
        COUNTED_APART => whole(bytes)?,
        few => u64::from(few),
    };
    skip_elements(bytes, count, &[first & 0x0f], depth)
}

fn skip_map(bytes: &mut impl Read, depth: usize) -> io::Result<()> {
    let count = whole(bytes)?;
    if count == 0 {
        return Ok(());
    }
    let kinds = byte(bytes)?;
    skip_elements(bytes, count, &[kinds >> 4, kinds & 0x0f], depth)
}

/// Every element takes a byte or more, so that the end of the bytes ends this too.
fn skip_elements(bytes: &mut impl Read, count: u64, kinds: &[u8], depth: usize) -> io::Result<()> {
    let is_truth = |kind: &u8| [kind::TRUE, kind::FALSE].contains(kind);
    if count > 0 && kinds.iter().any(is_truth) {
        return Err(damaged("a list holds truth values"));
    }
    for _ in 0..count {
        for &kind in kinds {
            skip(bytes, kind, depth)?;
        }
    }
    Ok(())
}

fn byte(bytes: &mut impl Read) -> io::Result<u8> {
    let mut one = [0];
    bytes.read_exact(&mut one)?;
    Ok(one[0])
}

/// A whole number in groups of seven bits, the lowest first.
pub(crate) fn whole(bytes: &mut impl Read) -> io::Result<u64> {
    let mut number = 0;
    for shift in (0..64).step_by(7) {
        let group = byte(bytes)?;
        number |= u64::from(group & 0x7f) << shift;
        if group & 0x80 == 0 {
            return Ok(number);
        }
    }
    Err(damaged("a number does not end"))
}

fn skip_bytes(bytes: &mut impl Read, count: u64) -> io::Result<()> {
    let skipped = io::copy(&mut bytes.by_ref().take(count), &mut io::sink())?;
    if skipped < count {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    Ok(())
}

fn damaged(why: &str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, why)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn walked(bytes: &[u8]) -> Result<usize, io::ErrorKind> {
        let mut rest = bytes;
        walk(&mut rest)
            .map(|()| bytes.len() - rest.len())
            .map_err(|error| error.kind())
    }

    /// A data page of 12 bytes that unpack to 90, of six values, plain, with levels run-length coded,
    /// as `parquet.thrift` has it: fields 1 to 3 and 5, in it fields 1 to 4; then the page.
    const PAGE: [u8; 18] = [
        0x15, 0x00, 0x15, 0xb4, 0x01, 0x15, 0x18, 0x2c, 0x15, 0x0c, 0x15, 0x00, 0x15, 0x06, 0x15,
        0x06, 0x00, 0x00,
    ];

    #[test]
    fn a_header_is_walked_to_its_end_and_no_further() {
        let with_page = [&PAGE[..], b"the page"].concat();
        assert_eq!(walked(&with_page), Ok(PAGE.len()));
        for end in 0..PAGE.len() {
            assert_eq!(walked(&PAGE[..end]), Err(io::ErrorKind::UnexpectedEof));
        }
        // A list of two numbers, a map of a text to a double, and a field numbered by itself.
        let list = [0x19, 0x25, 0x02, 0x04];
        let map = [
            0x1b, 0x01, 0x87, 0x02, b'k', b'w', 0, 0, 0, 0, 0, 0, 0xf0, 0x3f,
        ];
        let apart = [0x05, 0x90, 0x01, 0x06];
        let all = [&list[..], &map, &apart, &[0]].concat();
        assert_eq!(walked(&all), Ok(all.len()));
    }

    /// 2³¹ − 1 elements in ten bytes; counted through, they take minutes.
    #[test]
    fn a_list_longer_than_its_bytes_is_refused_at_once() {
        let of = |kind: u8| [0x19, 0xf0 | kind, 0xff, 0xff, 0xff, 0xff, 0x07, 0, 0, 0];
        for kind in [kind::TRUE, kind::FALSE, 0, 14] {
            assert_eq!(walked(&of(kind)), Err(io::ErrorKind::InvalidData), "{kind}");
        }
        for kind in kind::BYTE..=kind::UUID {
            assert_eq!(
                walked(&of(kind)),
                Err(io::ErrorKind::UnexpectedEof),
                "{kind}"
            );
        }
        let map_of_truths = [0x1b, 0xff, 0xff, 0xff, 0xff, 0x07, 0x11];
        assert_eq!(walked(&map_of_truths), Err(io::ErrorKind::InvalidData));
    }

    #[test]
    fn structures_in_one_another_end_somewhere() {
        assert_eq!(walked(&[0x1c; 5000]), Err(io::ErrorKind::InvalidData));
        assert_eq!(walked(&[0x19; 5000]), Err(io::ErrorKind::InvalidData));
    }
}
