//! What `tapoff explain` tells about overloads.

use crate::Page;

pub(super) const SOURCE: &str = "limit as declared; overload coordination IEC 60364-4-43, 433.1; first-order heating IEC 60255-149; conventional currents IEC 60269-1 (gG), IEC 60898-1 (circuit-breakers)";
pub(super) const CAUTION: &str = "Do not fit a larger fuse or breaker: the conductors behind it set the limit. Means over an interval hide shorter peaks. A competent person decides, by the maker's data and the local rules.";

const FORMULA: &str = "\
Every interval whose mean current is above the limit counts with its whole length. The worst block is the half-hour with the
highest mean, at least nine tenths of it read. Through a gap the last current is taken to have gone on. Heating of the first order, H(t+Δt) = (I/I_ref)² + (H − (I/I_ref)²)·exp(−Δt/τ), with
  I_ref = the conventional non-operating current (gG from 16 A: 1.25 I_n; breakers B, C, D: 1.13 I_n),
  τ = t_c / ln(I_f²/(I_f² − I_ref²)), so that the conventional operating current I_f (1.6 I_n; 1.45 I_n) reaches 1
  just within the conventional time t_c: the slowest heating that the standard allows. At 100 % a device must be
  expected to operate; sooner is allowed. `thermal_time_constant_min` under `[thresholds]` sets another τ. Without a declared device the limit is taken as the rating of a gG fuse.";

const IMITATORS: &str = "A current transformer with a wrong ratio; a limit that is declared too low; a log of maxima instead of means. Starting currents of seconds hardly show in means and do no harm here.";

pub(crate) const PHASE_PAGE: Page = Page {
    meaning: "The phase has carried more than the supply fuse, the agreed capacity or the board's limit allows. Conductors and joints age faster; a fuse may operate after an hour or two without any other warning.",
    formula: FORMULA,
    source: SOURCE,
    imitators: IMITATORS,
    action: "Move single-phase loads to another phase (`tapoff balance`), or see that the machines named do not run together: an interlock, another hour, a lower setting.",
    caution: CAUTION,
};

pub(crate) const NEUTRAL_PAGE: Page = Page {
    meaning: "The neutral has carried more than its limit. It has no protective device as a rule, so nothing stops it. Where its current is not logged, the sum of the phase currents stands for it: it carries at least that, and more with harmonics.",
    formula: FORMULA,
    source: SOURCE,
    imitators: IMITATORS,
    action: "Spread the single-phase loads over the phases (`tapoff balance`); where harmonics load the neutral, see `tapoff explain neutral-harmonics`.",
    caution: CAUTION,
};
