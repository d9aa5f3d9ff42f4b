//! The pages of `tapoff explain phase-overload` and `neutral-overload`.

use crate::Page;

pub(super) const SOURCE: &str = "limit from site.toml; overload coordination IEC 60364-4-43, 433.1; first-order heating IEC 60255-149; conventional currents IEC 60269-1 (gG), IEC 60898-1 (circuit-breakers)";
pub(super) const CAUTION: &str = "Do not fit a larger fuse or circuit-breaker: the conductors it protects set the limit. Interval means hide shorter peaks. A competent person decides, from the manufacturer's data and local rules.";

const FORMULA: &str = "\
Every interval with a mean current over the limit counts with its whole length. The worst half-hour is the one with the
highest mean; at least nine tenths of it must be logged. In a gap the last current is assumed to continue. First-order
heating, H(t+Δt) = (I/I_ref)² + (H − (I/I_ref)²)·exp(−Δt/τ), with
  I_ref = the conventional non-fusing current (gG from 16 A: 1.25 I_n) or non-tripping current (B, C, D: 1.13 I_n),
  τ = t_c / ln(I_f²/(I_f² − I_ref²)), so that the conventional fusing or tripping current I_f (1.6 I_n; 1.45 I_n)
  reaches 1 just within the conventional time t_c: the slowest heating that the standard allows. At 100 % the device is
  expected to blow or trip; it may do so sooner. `thermal_time_constant_min` under `[thresholds]` sets another τ.
Without a `protective_device` the limit is taken as the rating of a gG fuse.";

const IMITATORS: &str = "A current transformer with a wrong ratio; a limit set too low in site.toml; a log of maxima instead of means. Starting currents of a few seconds hardly show in interval means and do no harm here.";

pub(crate) const PHASE_PAGE: Page = Page {
    meaning: "The phase current is over the rating of the supply fuse, the agreed capacity or the board's limit. Conductors and joints age faster, and a fuse may blow after an hour or two without warning.",
    formula: FORMULA,
    source: SOURCE,
    imitators: IMITATORS,
    action: "Move single-phase loads to another phase (`tapoff balance`), or keep the machines named from running together: an interlock, another time of day, a lower setting.",
    caution: CAUTION,
};

pub(crate) const NEUTRAL_PAGE: Page = Page {
    meaning: "The neutral current is over its limit. A neutral usually has no protective device, so nothing switches it off. If its current is not logged, the phasor sum of the phase currents is used: the neutral carries at least that, and more with harmonics.",
    formula: FORMULA,
    source: SOURCE,
    imitators: IMITATORS,
    action: "Spread the single-phase loads over the phases (`tapoff balance`); where harmonics load the neutral, see `tapoff explain neutral-harmonics`.",
    caution: CAUTION,
};
