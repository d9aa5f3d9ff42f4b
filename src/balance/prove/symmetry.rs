//! What a proof may leave out as the image of something else.

use serde::Serialize;

/// What was left out as the image of something else.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub(crate) struct Symmetry {
    /// Unit held at turn 0 because turning all alike changes nothing.
    pub(crate) held: Option<usize>,
    /// True when of two mirror images (turns 1 and 2 exchanged) one was left out.
    pub(crate) mirrored: bool,
}
