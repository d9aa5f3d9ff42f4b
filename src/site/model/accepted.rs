//! Findings that the user has accepted.

use chrono::NaiveDate;

use electrical::Phase;
use finding::{Kind, Severity};

/// An accepted finding; what it leaves out fits everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Accepted {
    /// The kind of finding.
    pub kind: Kind,
    /// Node, machine or meter.
    pub at: Option<String>,
    /// The phase.
    pub phase: Option<Phase>,
    /// Last day of readings for which it is accepted.
    pub until: Option<NaiveDate>,
    /// The worst severity that is accepted; a warning unless said otherwise, so that danger is never
    /// accepted in passing.
    pub severity: Severity,
    /// A figure of the evidence, and the value from which the finding has grown too far.
    pub below: Option<(String, f64)>,
    /// Why it is accepted.
    pub note: Option<String>,
}
