//! What several requests share, one after another.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// A panic in another request leaves what is kept here whole: every change is one assignment.
pub(crate) fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
