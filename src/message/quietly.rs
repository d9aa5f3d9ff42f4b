//! Work of a library that stops hard at damaged input, without its cry on standard error.

use std::cell::Cell;
use std::panic;
use std::sync::Once;

thread_local! {
    static QUIET: Cell<bool> = const { Cell::new(false) };
}

static HOOK: Once = Once::new();

/// Gives the thread back the voice it had.
struct Before(bool);

impl Drop for Before {
    fn drop(&mut self) {
        QUIET.set(self.0);
    }
}

/// Does some work on this thread; should it panic, nothing is printed. The panic goes on to whoever
/// catches it.
pub fn quietly<T>(work: impl FnOnce() -> T) -> T {
    HOOK.call_once(|| {
        let usual = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            if !QUIET.get() {
                usual(info);
            }
        }));
    });
    let _before = Before(QUIET.replace(true));
    work()
}
