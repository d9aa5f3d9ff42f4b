//! Large tables that grow row by row.

/// Grows by an eighth: doubling would leave half of a large table unused.
pub(crate) fn make_room<T>(values: &mut Vec<T>, more: usize) {
    if values.capacity() - values.len() < more {
        values.reserve_exact(more.max(values.len() / 8).max(16));
    }
}

pub(crate) fn push<T>(values: &mut Vec<T>, value: T) {
    make_room(values, 1);
    values.push(value);
}

pub(crate) fn append<T: Copy>(values: &mut Vec<T>, later: &[T]) {
    make_room(values, later.len());
    values.extend_from_slice(later);
}
