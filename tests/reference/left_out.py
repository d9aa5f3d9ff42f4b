"""What is not compared, and why. Patterns of paths without list indices."""

WORDS = "words for the reader, not a figure"

ENERGY = {
    "energy.meters.basis.*": WORDS,
    "energy.meters.quality.action": WORDS,
    "energy.meters.quality.*_file": "which row of which file is odd is held by the tests of logs",
    "energy.meters.quality.*_line": "which row of which file is odd is held by the tests of logs",
}

BALANCE = {
    "balance.after_repair.best_neutral_rms_a": "the lowest of all allocations, of which there are too many to try; that it is "
    "that of the plan without regard to the finding is held by tests/suite/repair_first.rs",
    "balance.infeasible.needed.needed_a": "the smallest overload of all allocations, of which there are too many to try",
    "balance.lower_bound_neutral_rms_a": "a bound of the search where nothing is proven; certificates are checked by "
    "check_certificate.py",
    "balance.work_order.steps.reason": WORDS,
    "balance.work_order.steps.moves.*": WORDS,
    "balance.moves_curve.neutral_rms_a": "not told which moves; those within so many are too many to try",
    "balance.moves_curve.lower_bound_neutral_rms_a": "a bound of the search where nothing is proven; "
    "certificates are checked by check_certificate.py",
}

FOUND_OUT = "names of places; which findings there are is held by the tests of each, with what imitates them"

DIAGNOSE = {
    "diagnose.phases.*": "the posterior of the phases; it is held against hidden phases in tests/phases, where the truth is known",
    "diagnose.findings.where.*": FOUND_OUT,
    "diagnose.not_judged.where.*": FOUND_OUT,
    "diagnose.nothing_found.where.*": FOUND_OUT,
    "diagnose.after_work.since": WORDS,
    "diagnose.after_work.round": "no round of readings by hand in these sites",
}

# The page of the finding tells the method; two corrections of the second order, which the voltage's own turning and
# shortening ask for, are left out of the recomputation.
BY_THE_PAGE = (
    0.005,
    "fitted anew from the page of `explain high-resistance-joint`, without corrections of the second order",
)
DIAGNOSE_LOOSER = {
    f"diagnose.findings.evidence.{key}": BY_THE_PAGE
    for key in (
        "extra_resistance_mohm",
        "low_95_mohm",
        "high_95_mohm",
        "last_week_mohm",
        "last_week_low_95_mohm",
        "last_week_high_95_mohm",
        "trend_mohm_per_week",
        "trend_low_95_mohm_per_week",
        "trend_high_95_mohm_per_week",
        "heat_at_typical_current_w",
        "heat_at_peak_current_w",
        "highest_heat_so_far_w",
    )
}

PLACE = {
    "place.places.cable_mm2": "no cable of its own is asked for",
}
