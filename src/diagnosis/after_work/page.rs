//! The page of `tapoff explain wrong-phase`.

use crate::Page;
use finding::Kind;

pub(super) const KIND: Kind = Kind::WrongPhase;
pub(super) const SOURCE: &str = "phasor sum of the phase currents; probabilities by Bayes' theorem from logs, tests and readings, calibrated on the European Low Voltage Test Feeder (IEEE PES) and on invented workshops; limits are common practice";
pub(super) const CAUTION: &str = "A log shows where to look. It does not prove that a conductor is dead, nor where it ends. Competent person only: isolate, lock off, prove dead; trace the conductor itself. After any change, check the phase rotation of three-phase machines, retest and correct the circuit chart.";

pub(crate) const PAGE: Page = Page {
    meaning: "The machine list says on which phase each machine is. When a machine starts or stops, the current at the supply changes on that phase and on no other. If it changes on another phase, the list is wrong or a move was not made as planned. After work entered under `[[work]]`, the phase and neutral currents are also compared with those that the plan predicted.",
    formula: "\
Phase of a load: the probability of each of its possible connections, given everything that was measured since the last work
(`tapoff phases`): logs of the loads compared with the nearest log above, all loads at once; switching tests; steps of
its size, power factor and schedule; voltages; clamp readings. Beforehand one line of a list in twenty is taken to be
wrong. A load is named from 95 % for another connection than the listed one.
Predicted currents: the log before the work, with the moved machines taken off their old phase and added to the phase that
the list gives, I_N = √(|ΣI_k|² + r²); r is the part of the neutral current that the phasors did not explain before.
Root mean squares over the whole time, and over single days, because days differ.
Clamp readings: the round after the work is compared with the machines' readings and the unmetered current of the round
before; 5 % plus 1 A are allowed. A machine is named if it alone, on another phase, explains all conductors.",
    source: SOURCE,
    imitators: "Two machines that always run together; a machine that seldom runs; a meter with a wrong clock, so that its changes match no other meter; phases swapped between two meters, so that every machine seems to be on another phase (`tapoff explain metering-fault`); a week with different production from the one before.",
    action: "Switch the named machine on and off and read it at the board with a clamp meter. Then correct the list or the connection. Enter work as `[[work]]` with `date = \"2026-03-21\"` and `moves = [{ machine = \"Steam box\", from = \"L1\" }]`, or give `--since-work 2026-03-21`.",
    caution: CAUTION,
};
