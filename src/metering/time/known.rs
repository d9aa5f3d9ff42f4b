//! What earlier files of a meter showed of its times.

use super::grid::Grid;
use site::TimeFormat;

/// What earlier files of a meter showed.
#[derive(Clone, Debug)]
pub(crate) struct Known {
    pub(crate) grid: Grid,
    pub(crate) format: TimeFormat,
}
