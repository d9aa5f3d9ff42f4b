//! What `tapoff explain high-resistance-joint` tells.

use crate::Page;

pub(crate) const SOURCE: &str = "Ohm's law between source and meter, by robust least squares on changes; interval after Newey and West (1987), freedom after Satterthwaite (1946); heating I²R; temperature-rise limits IEC 61439-1, Table 6 (from memory)";
pub(crate) const CAUTION: &str = "A hot joint can start a fire. Opening a fuse base or terminal that is live can kill: competent person, isolate, lock off, prove dead; upstream of the meter it belongs to the network operator. A reading is evidence for an inspection, never a clearance.";

pub(crate) const PAGE: Page = Page {
    meaning: "On one phase the voltage falls more per ampere than on the two others: somewhere between the source and the meter a terminal, fuse base, switch contact or conductor has more resistance than its sisters. It heats with the square of the current, and heat makes it worse.",
    formula: "\
In the frame of each phase
  V_k = E + e_k − R_k·Re I_k + X_k·Im I_k − R_N·Re(N/u_k) + X_N·Im(N/u_k)
with I_k against its own voltage (lagging: Im below 0), N the neutral current, u_k the direction of the phase.
Two contrasts between the phases take out E, the part of the source's voltage that moves with everybody's load.
Changes from one reading to the next take out what is slow in e_k. Only the changes in which the load moved most are
used, those that make 95 % of all squared movement, with Huber's weights from two deviations on. Reactances of the
lines may differ by some 1 mΩ (a deviation of 1 mΩ/√3), line and neutral have some 0.1 Ω; resistance may grow evenly.
Told is R_k less the mean of the two others, at mid-log and over the last week, with 95 % intervals: the larger of the
usual error and that of Newey and West, and the accuracy class of the meter. A finding is raised if a one-sided test at
1 % for all phases together rejects 0, and the estimate is at least 1 mΩ.
Smallest steady joint found in nine of ten invented logs of one-minute means (volts in steps of 0.1 V, each phase of
the source wandering by 0.3 V), by length of the log and swing of the phase's current (5 to 95 %):
             7 A     15 A    30 A    60 A
   2 days   50 mΩ   12 mΩ    8 mΩ    3 mΩ
   7 days   20 mΩ    8 mΩ    5 mΩ    3 mΩ
  14 days    8 mΩ    5 mΩ    3 mΩ    2 mΩ
  28 days    8 mΩ    5 mΩ    3 mΩ    1.5 mΩ",
    source: SOURCE,
    imitators: "A conductor of smaller cross-section on one phase (steady, never growing). A neighbour's load on one phase that switches within the same minute as yours, day after day. A meter whose current transformer of one phase has the wrong ratio. Slow differences between the phases of the source, daily patterns and load of the neighbours at other minutes do not show.",
    action: "Look at the joints of that phase with a thermal camera under load, from the meter towards the source: terminals, fuse bases, main switch. Compare with the two other phases: 10 K more than its sisters under the same current is a reason to open it. Then isolate, clean or replace, tighten to the maker's torque, and see that the figure goes.",
    caution: CAUTION,
};
