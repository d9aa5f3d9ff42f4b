//! The page of `tapoff explain high-resistance-joint`.

use crate::Page;

pub(crate) const SOURCE: &str = "Ohm's law between source and meter, by robust least squares on changes; confidence interval after Newey and West (1987), degrees of freedom after Satterthwaite (1946); heating I²R; temperature-rise limits IEC 61439-1, Table 6 (value not checked against the standard's text)";
pub(crate) const CAUTION: &str = "A hot joint can start a fire. Opening a live fuse base or terminal can kill. Competent person only: isolate, lock off, prove dead. Joints ahead of the supplier's meter belong to the network operator. A reading is a reason to inspect; a normal reading does not prove the joint safe.";

pub(super) const COULD_ALSO_BE: &str = "a conductor of smaller cross-sectional area on this phase; a current transformer of this phase with another ratio; a neighbour's load on this phase that switches in the same minutes";
pub(super) const READING_THAT_DECIDES: &str = "the voltage drop across each terminal, fuse base and switch contact of this phase compared with the other phases at the same current, or a thermal camera under load, by a competent person";
pub(super) const NEUTRAL_COULD_ALSO_BE: &str = "a neutral of smaller cross-sectional area than the phases; a wrong phase angle of the meter's current inputs";
pub(super) const NEUTRAL_READING_THAT_DECIDES: &str = "the loop impedance of each phase to neutral compared with that between phases, measured at the meter, or a thermal camera at the neutral terminals under load, by a competent person";

pub(crate) const PAGE: Page = Page {
    meaning: "On one phase the voltage drops more per ampere than on the other two. Somewhere between the source and the meter a terminal, fuse base, switch contact or conductor has more resistance than those of the other phases. It heats up with the square of the current, and heat makes it worse.",
    formula: "\
In the frame of each phase
  V_k = E + e_k − R_k·Re I_k + X_k·Im I_k − R_N·Re(N/u_k) + X_N·Im(N/u_k)
with I_k relative to its own voltage (lagging: Im below 0), N the neutral current, u_k the direction of the phase.
Two contrasts between the phases cancel E, the part of the source voltage that is common to all phases.
Changes from one reading to the next cancel slow drift in e_k. To each change, on both sides, θ times the filtered change
of the reading before is added, as long as none is missing or set aside. θ, from 0 to 0.7, follows from the correlation
−θ/(1 + θ²) of neighbouring misfits of a first fit without it, limited to two standard deviations: it takes out the
meter's noise and last digit. Changes that contradict the first fit by eight deviations are set aside. Only the largest
load changes are used, those that make up 95 % of all squared change, with Huber's weights beyond two standard deviations.
Reactances of the phases may differ by about 1 mΩ (a standard deviation of 1 mΩ/√3); phase and neutral conductors have
about 0.1 Ω; the resistances may rise linearly, that of the neutral by about 0.1 Ω a week.
The result is R_k less the mean of the other two, at mid-log and over the last week, with 95 % intervals. These take the
larger of the ordinary and the Newey-West standard error, the accuracy class of the meter (as a standard deviation, the class
over √3, of the figure and of R), and 1 % of R and of R_N − R, or of a growth, for what the equations leave out. It becomes a finding if a one-sided test at 1 % for all phases together
rejects 0 and the estimate is at least 1 mΩ. Warning from 5 W of heat at the peak current, danger from 25 W where a second
line of evidence confirms it: each half of the log shows it by itself, or a meter upstream; without one, a warning.
Smallest steady joint found in nine of ten simulated logs of one-minute means (voltage in steps of 0.1 V, each phase of
the source drifting by 0.3 V), by length of the log and range of the phase current (5th to 95th percentile):
             7 A     15 A    30 A    60 A
   2 days   50 mΩ   12 mΩ    8 mΩ    5 mΩ
   7 days   20 mΩ    8 mΩ    5 mΩ    3 mΩ
  14 days   12 mΩ    5 mΩ    3 mΩ    3 mΩ
  28 days    8 mΩ    5 mΩ    3 mΩ    3 mΩ",
    source: SOURCE,
    imitators: "A conductor of smaller cross-sectional area on one phase (steady, never rising). A neighbour's single-phase load that switches in the same minute as yours, day after day. A current transformer with the wrong ratio on one phase. Slow differences between the phases of the source, daily patterns and neighbours' load at other times do not affect the result.",
    action: "Inspect the joints of that phase with a thermal camera under load, from the meter towards the source: terminals, fuse bases, main switch. Compare with the other two phases: a joint 10 K hotter than those of the other phases at the same current needs work. Isolate, lock off and prove dead; then open it, clean or replace it, tighten to the manufacturer's torque, and check that the finding disappears.",
    caution: CAUTION,
};
