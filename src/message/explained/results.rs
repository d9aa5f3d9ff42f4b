//! Messages about periods, bills, plans and results.

use super::{Explained, page};

pub(super) const PAGES: &[Explained] = &[
    page(
        "not-json",
        "The file should be a result in JSON, and is not, or is incomplete.",
        "Name the report.json of an earlier report. If it was edited or cut off, copy it again.",
    ),
    page(
        "empty-period",
        "A period ends before it begins, or has no readings.",
        "Give a later end. The end is the first day that no longer belongs to the period.",
    ),
    page(
        "plan-given-up",
        "The plan of a site took longer than its time within the estate: its row has no plan, all else is there.",
        "Run `tapoff balance` for the site, with `--time-limit`, or the estate again with a larger `--site-minutes`.",
    ),
    page(
        "ignore",
        "`--ignore` names no finding that binds a plan, or a place that the site does not have.",
        "Write the name of the finding as `tapoff diagnose` gives it, with `@` and the place where only one is meant.",
    ),
    page(
        "fix",
        "A connection given with --fix is not possible.",
        "Write the machine and its connection as --fix \"Kiln=L2\".",
    ),
    page(
        "later-report",
        "The report was written by a newer version of the program.",
        "Use that version, or compare with an older report.",
    ),
    page(
        "no-comparison",
        "The two periods cannot be compared.",
        "Name both: --from and --to for the one, --compare 2026-03-02..2026-03-09 for the other.",
    ),
    page(
        "no-supply-meter",
        "No meter of the supply has energy, so there is no bill.",
        "The bill is that of the meter with measures = \"supply\". Add its energy or active power.",
    ),
    page(
        "no-tariff",
        "site.toml has no tariff, so there is no bill.",
        "Add a [[tariff]]. `tapoff explain tariff` lists its terms.",
    ),
    page(
        "not-a-report",
        "The file is not a result of the program.",
        "Name the report.json of an earlier report, or its energy.json.",
    ),
    page(
        "unknown-place",
        "There is no place of this name: no board, circuit or machine, or no such place in the result.",
        "Write the name as in site.toml or in the machine list; a place for a new machine is a circuit or board and a connection: C3:L2.",
    ),
    page(
        "which-supply",
        "Several meters of the supply have prices of their own, and an invoice or a what-if is of one of them.",
        "Write `--supply` with the id of a meter of the supply.",
    ),
];
