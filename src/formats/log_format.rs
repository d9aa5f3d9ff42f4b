//! What every format can do.

use chrono_tz::Tz;

use super::transcript::Transcript;
use message::Messages;
use site::{Corrections, Stamp};

/// A file to be read, and what is declared of its meter.
#[derive(Clone, Copy, Debug)]
pub struct FormatSource<'s> {
    /// Name of the file, for messages.
    pub file: &'s str,
    /// All of it.
    pub text: &'s str,
    /// Zone of the site.
    pub zone: Tz,
    /// Which end of an interval a time marks, where that is declared.
    pub stamp: Option<Stamp>,
    /// Which of two values of one interval counts.
    pub corrections: Corrections,
    /// Unit of the values, where that is declared.
    pub unit: Option<&'s str>,
}

/// A format of interval data.
pub trait LogFormat: Sync {
    /// What it is called.
    fn name(&self) -> &'static str;

    /// Why a file of this name that begins so has this format; `None` where it has not.
    fn recognise(&self, file: &str, beginning: &str) -> Option<String>;

    /// Reads a file; `None` after an error.
    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript>;
}
