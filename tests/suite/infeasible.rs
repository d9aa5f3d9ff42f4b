//! Limits that cannot be kept: which, where, when and by how much, worked out by hand.

use tapoff::app::{Console, ExitStatus, run};
use tapoff::balance::Infeasible;

use crate::tiny_site::{Tiny, near};

fn why(tiny: &Tiny<'_>) -> Infeasible {
    tiny.plan().infeasible.expect("limits cannot be kept")
}

/// Four heaters of 20 A on three phases of 30 A: two share a phase, and least time is spent so when
/// one of them is the heater of the day shift: 40 A, 10 A too much, first on Monday at 07:30; 5 days
/// of 8.5 h are 170 quarter-hours. No limit below 40 A would do.
#[test]
fn the_excess_is_told_to_the_ampere_and_the_quarter_hour() {
    let why = why(&Tiny {
        toml: "phase_limit_a = 30\nneutral_limit_a = 100\n\
               [[schedule]]\nname = 'day'\ndays = 'Mon-Fri'\nfrom = '07:30'\nto = '16:00'\n",
        machines: "A,supply,L1,20,,yes,\nB,supply,L1,20,,yes,\nC,supply,L1,20,,yes,\n\
                   D,supply,L1,20,day,yes,\n",
        ..Tiny::default()
    });
    let [limit] = &why.limits[..] else {
        panic!("one conductor is over its limit: {:?}", why.limits);
    };
    assert_eq!(limit.node, "supply");
    near(limit.limit_a, 30.0);
    near(limit.current_a, 40.0);
    near(limit.excess_a, 10.0);
    assert_eq!(limit.at.to_rfc3339(), "2026-01-12T07:30:00+01:00");
    assert_eq!(limit.intervals, 170);
    assert_eq!(why.needed.len(), 1);
    assert_eq!(
        (why.needed[0].node.as_str(), why.needed[0].kind),
        ("supply", "phase")
    );
    near(why.needed[0].needed_a, 40.0);
    assert!(why.is_certain && why.needed_is_least);
    assert!(why.causes.is_empty() && why.ways.is_empty());
}

/// M (12 A) fits nowhere under 30 A: with 20 A on L1 it makes 32 A all the time, with 30 A on L2 for
/// one hour of five days 42 A in 20 quarter-hours of 672, with 30 A on L3 42 A always. Least is
/// passed on L2 (12 A · 20/672 = 0.36 A in the mean against 2 A), but a limit of 32 A would do.
#[test]
fn the_least_limit_that_would_do_is_not_that_of_the_plan_shown() {
    let why = why(&Tiny {
        toml: "phase_limit_a = 30\nneutral_limit_a = 100\n\
               [[schedule]]\nname = 'hour'\ndays = 'Mon-Fri'\nfrom = '12:00'\nto = '13:00'\n",
        machines: "F1,supply,L1,20,,no,\nF2,supply,L2,30,hour,no,\nF3,supply,L3,30,,no,\n\
                   M,supply,L3,12,,yes,\n",
        ..Tiny::default()
    });
    assert_eq!(why.limits.len(), 1);
    assert_eq!(
        (why.limits[0].conductor, why.limits[0].intervals),
        ("L2", 20)
    );
    near(why.limits[0].current_a, 42.0);
    near(why.needed[0].needed_a, 32.0);
    assert!(why.needed_is_least);
}

/// Three heaters on L1 need two moves; 20 A twice on one phase of 30 A is the doing of two fixes.
#[test]
fn arguments_that_stand_in_the_way_are_named() {
    let tiny = |max_moves, fixes| Tiny {
        toml: "phase_limit_a = 30\nneutral_limit_a = 100\n",
        machines: "A,supply,L1,20,,yes,\nB,supply,L1,20,,yes,\nC,supply,L1,20,,yes,\n",
        max_moves,
        fixes,
        ..Tiny::default()
    };
    let few = why(&tiny(Some(1), &[]));
    assert_eq!(few.causes, ["--max-moves 1"]);
    assert_eq!(few.fewest_moves, Some(2));
    let fixed = why(&tiny(None, &["A=L2", "B=L2"]));
    assert_eq!(fixed.causes, ["--fix A=L2", "--fix B=L2"]);
    assert_eq!(fixed.fewest_moves, None);
    assert_eq!(tiny(None, &["A=L2"]).plan().infeasible, None);
}

/// Two ways on L1 and none elsewhere for three machines.
#[test]
fn missing_ways_are_counted() {
    let why = why(&Tiny {
        toml: "phase_limit_a = 100\n[[board]]\nid = 'DB1'\nfed_from = 'supply'\nways = [2, 0, 0]\n",
        machines: "A,DB1,L1,1,,yes,\nB,DB1,L1,1,,yes,\nC,DB1,L1,1,,yes,\n",
        ..Tiny::default()
    });
    let missing: usize = why.ways.iter().map(|ways| ways.needed - ways.free).sum();
    assert_eq!(missing, 1);
    assert!(why.ways.iter().all(|ways| ways.board == "DB1"));
}

fn tapoff(arguments: &[&str]) -> (ExitStatus, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut console = Console {
        out: &mut out,
        err: &mut err,
        colour: false,
    };
    let all = std::iter::once("tapoff").chain(arguments.iter().copied());
    let status = run(all, &mut console);
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    (status, text(out), text(err))
}

#[test]
fn text_json_and_report_say_it() {
    let folder = Tiny {
        toml: "phase_limit_a = 30\nneutral_limit_a = 100\n",
        machines: "A,supply,L1,20,,yes,\nB,supply,L1,20,,yes,\nC,supply,L1,20,,yes,\n",
        ..Tiny::default()
    }
    .write();
    let site = folder.path().to_str().expect("a plain path");
    let (status, text, _) = tapoff(&["balance", site, "--max-moves", "1", "--time-limit", "60"]);
    assert_eq!(status, ExitStatus::Done);
    let expected = "L1 of supply peaks at 40.0\u{a0}A (limit 30\u{a0}A), 10.0\u{a0}A over the limit, at \
                    Mon 12 Jan 2026 00:00; over the limit in 672 intervals.";
    assert!(text.contains(expected), "{text}");
    assert!(
        text.contains("without --max-moves 1: 2 moves would be enough"),
        "{text}"
    );
    let (_, json, _) = tapoff(&["balance", site, "--max-moves", "1", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["infeasible"]["limits"][0]["conductor"], "L1");
    assert_eq!(json["infeasible"]["fewest_moves"], 2);
    assert_eq!(json["work_order"]["steps"][0]["moves"][0]["from"], "L1");
    let report = folder.path().join("report");
    let report = report.to_str().expect("a plain path");
    let (status, _, err) = tapoff(&["report", site, "-o", report, "--max-moves", "1"]);
    assert_eq!(status, ExitStatus::Done, "{err}");
    let page = std::fs::read_to_string(format!("{report}/index.html")).expect("a page");
    assert!(page.contains("L1 of supply peaks at 40.0\u{a0}A (limit 30\u{a0}A)"));
    let order = std::fs::read_to_string(format!("{report}/work-order.csv")).expect("a table");
    assert_eq!(order.lines().count(), 2);
}

#[test]
fn fixes_that_cannot_be_are_refused_with_help() {
    let folder = Tiny {
        toml: "phase_limit_a = 30\n",
        machines: "Band saw,supply,L1,20,,yes,\nlathe,supply,3ph,10,,yes,\nold,supply,L2,1,,no,\n\
                   P,supply,L1,1,,yes,pair\nQ,supply,L1,1,,yes,pair\n",
        ..Tiny::default()
    }
    .write();
    let site = folder.path().to_str().expect("a plain path");
    for (fixes, expected) in [
        (vec!["Bandsaw=L2"], "Did you mean `Band saw`?"),
        (vec!["Band saw=L1-L2"], "It can be on L1, L2, L3"),
        (vec!["Band saw"], "Write the machine's name"),
        (vec!["old=L1"], "he machine list says `movable` = `no`"),
        (
            vec!["lathe=3ph+1"],
            "no meter of its own with values per phase",
        ),
        (vec!["P=L1", "Q=L2"], "contradict each other"),
    ] {
        let mut arguments = vec!["balance", site];
        for fix in &fixes {
            arguments.extend(["--fix", fix]);
        }
        let (status, _, err) = tapoff(&arguments);
        assert_eq!(status, ExitStatus::Failed);
        assert!(err.contains(expected), "{fixes:?}: {err}");
    }
    let (status, _, _) = tapoff(&["balance", site, "--fix", "old=L2"]);
    assert_eq!(status, ExitStatus::Done);
    let (status, _, err) = tapoff(&["balance", site, "--time-limit", "0"]);
    assert_eq!(status, ExitStatus::Failed, "{err}");
}

/// L1 of the supply is 40 A over its 100 A, and the board's three phases are over their 40 A by 20, 2 and 5 A. The
/// heater of 10 A could take the largest overload from 40 A to 30 A, but L2 and L3 of the board are over their limit
/// already and would stay so, with 10 A more.
#[test]
fn nothing_is_moved_onto_a_conductor_that_stays_over_its_limit() {
    let machines = |heater: &str| {
        format!(
            "F1,supply,L1,80,,no,\nF2,hall,L1,50,,no,\nF3,hall,L2,42,,no,\nF4,hall,L3,{heater},,no,\n\
             H,hall,L1,10,,yes,\n"
        )
    };
    let toml = "phase_limit_a = 100\nneutral_limit_a = 200\n\
                [[board]]\nid = 'hall'\nfed_from = 'supply'\nphase_limit_a = 40\n";
    let plan = |machines: &str| {
        let tiny = Tiny {
            toml,
            machines,
            ..Tiny::default()
        };
        tiny.plan()
    };
    let over = plan(&machines("45"));
    assert!(over.moves.is_empty(), "{:?}", over.moves);
    assert!(over.infeasible.is_some_and(|why| !why.is_smallest));
    // With 25 A on L3 there is room for it.
    let room = plan(&machines("25"));
    assert_eq!(room.moves.len(), 1);
    assert_eq!(room.moves[0].to.to_string(), "L3");
}
