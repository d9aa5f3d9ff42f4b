//! What `tapoff explain` tells about the list and the log after work.

use crate::Page;
use finding::Kind;

pub(super) const KIND: Kind = Kind::WrongPhase;
pub(super) const SOURCE: &str = "phasor sum of the phase currents; regression of changes with errors that allow for unequal surprises (H. White, Econometrica, vol. 48, 1980); limits are common practice";
pub(super) const CAUTION: &str = "A log is a hint where to look, never proof that a conductor is dead or where it ends. Competent person: isolate, lock off, prove dead; follow the conductor itself; after any change check the rotation of three-phase machines, retest, and correct the circuit chart.";

pub(crate) const PAGE: Page = Page {
    meaning: "The machine list says on which phase each machine is. When a machine starts or stops, the supply's meter must change on that phase and on no other. Where it changes on another phase, the list is wrong, or a move was not made as planned. After work that is declared under `[[work]]`, the currents of phases and neutral are also set beside those that the plan promised.",
    formula: "\
Where it is: the change of each phase's active current from one interval to the next is regressed on the changes of all
machines with a meter or a schedule of their own, together. A machine's part is 1 on its own phase and 0 on the others (a
load between two phases: 0 on the third). A phase is named when it leads the next by 0.25 and by 4 standard errors.
What was promised: the log before the work with the moved machines taken off the phase they were on and put where the list
has them, I_N = √(|ΣI_k|² + rest²); the rest is what the phasors did not explain before. Root mean squares, and
those of the single days, since no two days are alike.
Clamp readings: the round after the work against the machines' readings and what was left over in the round before;
5 % and 1 A are allowed. A machine is named when it alone, on another phase, explains all conductors, and no other does.",
    source: SOURCE,
    imitators: "Two machines that always run together; a machine that seldom runs; a meter's clock that is wrong (its changes then meet nobody's); phases exchanged between two meters, when every machine seems to be elsewhere by the same turn (`tapoff explain metering-fault`); a week with other work than the one before.",
    action: "Read the named machine with a clamp meter at the board while it is switched on and off, then correct the list or the connection. Declare work as `[[work]]` with `date = \"2026-03-21\"` and `moves = [{ machine = \"Steam box\", from = \"L1\" }]`, or give `--since-work 2026-03-21`.",
    caution: CAUTION,
};
