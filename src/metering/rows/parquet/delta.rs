//! How many values a list of differences in a Parquet page claims to hold, without reading them.

use crate::rows::parquet::header::whole;

/// The number of values that a list at the beginning of some bytes claims, and what follows it.
/// `None` where it breaks off or contradicts itself.
///
/// Source: Apache Parquet format, Encodings, "Delta Encoding (DELTA_BINARY_PACKED = 5)": a header of
/// block size, miniblocks in a block, number of values and first value; then blocks of a smallest
/// difference, a width for each miniblock, and the miniblocks that are needed.
pub(crate) fn delta_list(bytes: &[u8]) -> Option<(u64, &[u8])> {
    let mut rest = bytes;
    let block = varint(&mut rest)?;
    let miniblocks = varint(&mut rest)?;
    let count = varint(&mut rest)?;
    let _first = varint(&mut rest)?;
    let in_miniblock = block.checked_div(miniblocks)?;
    // The first value stands in the header.
    let mut left = count.saturating_sub(1);
    while left > 0 {
        let _smallest = varint(&mut rest)?;
        let (widths, behind) = rest.split_at_checked(usize::try_from(miniblocks).ok()?)?;
        rest = behind;
        for &width in widths {
            if left == 0 {
                break;
            }
            let size = u64::from(width).checked_mul(in_miniblock)? / 8;
            rest = rest.get(usize::try_from(size).ok()?..)?;
            left = left.saturating_sub(in_miniblock);
        }
    }
    Some((count, rest))
}

/// The number that a list claims, whether or not it is whole.
pub(crate) fn delta_count(bytes: &[u8]) -> Option<u64> {
    let mut rest = bytes;
    let [_block, _miniblocks] = [varint(&mut rest)?, varint(&mut rest)?];
    varint(&mut rest)
}

/// The whole number at the beginning of some bytes, and on to what follows it.
pub(crate) fn varint(bytes: &mut &[u8]) -> Option<u64> {
    whole(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The format's own examples: 1 to 5 need no bits for their equal differences, 7, 5, 3, 1, 2, 3,
    /// 4, 5 two bits each in one miniblock of 32, which takes 8 bytes.
    #[test]
    fn examples_of_the_format_are_counted_to_their_end() {
        let equal = [0x80, 0x01, 4, 5, 2, 2, 0, 0, 0, 0, 0xaa];
        assert_eq!(delta_list(&equal), Some((5, &[0xaa][..])));
        let mut two_bits = vec![0x80, 0x01, 4, 8, 14, 3, 2, 0, 0, 0];
        two_bits.extend([0xc0, 0x3f, 0, 0, 0, 0, 0, 0, 0xbb]);
        assert_eq!(delta_list(&two_bits), Some((8, &[0xbb][..])));
        assert_eq!(delta_count(&two_bits), Some(8));
    }

    #[test]
    fn a_list_that_breaks_off_is_none() {
        assert_eq!(delta_list(&[0x80, 0x01, 4, 5, 2, 2, 0]), None);
        assert_eq!(delta_list(&[0x80, 0x01, 0, 5, 2]), None);
        assert_eq!(varint(&mut &[0xff; 11][..]), None);
    }
}
