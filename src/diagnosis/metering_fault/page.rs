//! What `tapoff explain metering-fault` tells.

use crate::Page;
use finding::Kind;

pub(super) const KIND: Kind = Kind::MeteringFault;
pub(crate) const SOURCE: &str = "a consumer draws active power, so that P > 0 (sign convention of IEC 60375); registers that do not run backwards, IEC 62053-21";
pub(crate) const CAUTION: &str = "Never open the secondary circuit of a current transformer that carries current: its voltage can kill. Short-circuit it first; competent person only.";

pub(crate) const PAGE: Page = Page {
    meaning: "A meter is not connected as its figures are read: a current transformer is the wrong way round, a current is paired with another phase's voltage, two phases are exchanged, a ratio is wrong, a voltage lead is off, the register does not count what the power says, or its clock differs from that of the meter above.",
    formula: "\
Reversed: in at least 95 % of the intervals with load (more than a twentieth of the largest) the active power is negative.
Pairing: the mean current of each phase, Σ (P − jQ)/V, must lie between 60° behind and 30° ahead of its voltage. Every
  way to pair three currents with three voltages, straight or reversed, turns the angles by known amounts; the one
  way that puts all three right is told if it is the only one, by 15°.
Exchanged phases, clock, ratio: changes of power of a meter against those of the meter above, over common intervals.
  The pairing of phases with the largest sum of correlations is the true one; the shift of time with the largest
  correlation is the clocks' difference; the slope of a line through the changes, fitted together with those of the other
  meters below, is 1 if both ratios are right; one below 0.9 is told. Its error comes from the slopes of ten parts of the log.
Sum: the energy of the meters below, over intervals that all have, against that of the meter above.
Register: what it counted against what the power adds up to, beyond accuracy class and last digit.",
    source: SOURCE,
    imitators: "Generation (solar panels, a generator), which declares itself by an export column; a machine that brakes gives power back for moments only. Capacitors that overcompensate turn all currents ahead alike, and no pairing is told. Something unmetered that always starts with the metered machine makes the slope larger than 1: such a slope is not told. Machines that keep the same hours do not shift the best correlation of single changes.",
    action: "Compare the arrow on the current transformer with the direction to the load, its printed ratio with the meter's setting, and the voltage lead with the phase whose conductor passes the window. Where a transformer cannot be turned, exchange its secondary wires.",
    caution: CAUTION,
};
