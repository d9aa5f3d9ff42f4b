//! The page of `tapoff explain metering-fault`.

use crate::Page;
use finding::Kind;

pub(super) const KIND: Kind = Kind::MeteringFault;
pub(crate) const SOURCE: &str = "a load imports active power, P > 0 (sign convention of IEC 60375); registers do not run backwards, IEC 62053-21";
pub(crate) const CAUTION: &str = "Never open the secondary circuit of a current transformer that carries current: its voltage can kill. Competent person only: short-circuit it first.";

pub(crate) const PAGE: Page = Page {
    meaning: "A meter is connected or set wrongly: a current transformer is reversed, a current is paired with the voltage of another phase, two phases are swapped, a ratio is wrong, a voltage lead is open, the register does not agree with the power, or the clock differs from that of the meter above.",
    formula: "\
Reversed: the active power is negative in at least 95 % of the intervals with load (more than 5 % of the largest).
Pairing: the mean current of each phase, Σ (P − jQ)/V, must be between 60° lagging and 30° leading its voltage. Every
  way to pair three currents with three voltages, straight or reversed, turns the angles by known amounts; the one
  way that corrects all three is reported if it is the only one, by 15°.
Loads exchanged: changes of P + jQ of one phase alone in the first quarter of the log say which sizes are at home on which
  phase; two phases are reported where 70 % of the sizes known in the last quarter are at home on the other. The interval
  is the one that the fewest changes contradict.
Standby generator: all three voltages rise by 3.5 % within three intervals and fall back by as much after 15 minutes to
  14 days, and half of the power goes on; where the frequency is logged, it is 0.1 Hz off for half of the time.
Another logger: the smallest step of two channels or more changes for good by a factor of 1.9, in windows of six hours.
  Two loggers: every second row differs from the mean of its neighbours by the same, beyond eight standard errors.
Time zone: power in the hours that the declared schedules have only as read, against those that they have only if the log is
  shifted by what the zone differs from UTC; reported beyond four standard errors of days, from three days on.
Ratio without a logged neutral: three-phase machines switch with the same change on each phase; from the interval in which
  the share of one phase is another, by six standard errors and 4 %, its ratio has changed.
Swapped phases, clock, ratio: changes of a meter's power against those of the meter above, over common intervals.
  The pairing of phases with the largest sum of correlations is the true one; the shift of time with the largest
  correlation is the clocks' difference; the slope of a line through the changes, fitted together with those of the other
  meters below, is 1 if both ratios are right; a slope below 0.9 is reported. Its error comes from
  the slopes of ten parts of the log; a 95 % interval that reaches 0 or is wider than the slope says nothing. Two meters
  that log single moments are compared only if they read in the same second.
Two meters of one place: their energy over common intervals; a difference beyond the sum of their accuracy classes is
  reported. They are never added; the first is the one compared with others.
Sum: the energy of the meters below against that of the meter above, over the intervals that all have.
Register: its energy against the integral of the power, beyond accuracy class and last digit.",
    source: SOURCE,
    imitators: "Generation (solar panels, a generator): a meter with an export column is not checked; regenerative braking lasts for moments only. Over-correction by capacitors makes all currents lead alike, and no pairing is reported. An unmetered load that always starts with the metered machine makes the slope larger than 1; such a slope is not reported. Machines with the same hours do not shift the best correlation of single changes.",
    action: "Compare the arrow on the current transformer with the direction to the load, its printed ratio with the meter's setting, and the voltage lead with the phase whose conductor passes through the window. If the transformer cannot be turned round, swap S1 and S2 (circuit dead, CT shorted).",
    caution: "Never open the secondary circuit of a current transformer that carries current: its voltage can kill. Competent person only: short-circuit it first. A voltage lead is at the full voltage of its phase up to its fuse: isolate it there and prove it dead.",
};
