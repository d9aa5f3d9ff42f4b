use super::fixture::{Workshop, workshop};
use super::*;
use balance::Proof;
use electrical::Phase;
use site::Connection;
use units::Basis;

fn page(workshop: &Workshop) -> String {
    render(
        &workshop.header,
        Some(&workshop.balance),
        &workshop.energy,
        &workshop.machines,
        &workshop.messages,
        None,
        None,
    )
    .expect("a page")
}

/// What a reader sees: the page without style sheet and tags, spaces made plain.
fn words(page: &str) -> String {
    let page = without_script(page);
    let body = page.split_once("</style>").expect("a style sheet").1;
    let mut out = String::new();
    let mut inside = false;
    for c in body.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                out.push(' ');
            }
            c if !inside => out.push(c),
            _ => {}
        }
    }
    let plain = out.replace(['\u{A0}', '\u{202F}'], " ");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The page without the one script that is its own, and without the data of its charts, which do not run.
fn without_script(page: &str) -> String {
    const DATA: &str = "<script type=\"application/json\" class=\"";
    let page = page.replace(&format!("<script>{}</script>", super::trial::SCRIPT), "");
    let mut parts = page.split(DATA);
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (data, after) = part.split_once("</script>").expect("the data end");
        assert!(!data.contains('<'), "{data}");
        out.push_str(after);
    }
    out
}

/// Every opened element is closed in order.
fn assert_well_formed(markup: &str) {
    const VOID: [&str; 4] = ["meta", "!doctype", "input", "br"];
    let mut open: Vec<&str> = Vec::new();
    let markup = without_script(markup);
    let markup = match (markup.find("<style>"), markup.find("</style>")) {
        (Some(from), Some(to)) => [&markup[..from], &markup[to + 8..]],
        _ => ["", &markup[..]],
    };
    for part in markup {
        for tag in part.split('<').skip(1) {
            let tag = tag
                .split_once('>')
                .unwrap_or_else(|| panic!("a tag is not closed: {tag}"))
                .0;
            let name = tag
                .trim_start_matches('/')
                .split([' ', '\n', '/'])
                .next()
                .unwrap_or_default();
            if tag.starts_with('/') {
                assert_eq!(open.pop(), Some(name), "closed out of order");
            } else if !tag.ends_with('/') && !tag.starts_with('?') && !VOID.contains(&name) {
                open.push(name);
            }
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
}

#[test]
fn the_answer_says_that_a_phase_is_over_its_limit() {
    let mut shop = workshop();
    let before = shop.balance.before.as_mut().expect("a before");
    (before.phase_max_a, before.neutral_max_a) = ([112.0, 60.0, 50.0], 70.0);
    let over = words(&page(&shop));
    assert!(
        over.contains("L1 peaks at 112.0 A, 12.0 A over its 100 A limit."),
        "{over}"
    );
    assert!(over.contains("now over the limit by 12.0 A"));

    shop.balance.before.as_mut().expect("a before").phase_max_a = [88.0, 60.0, 50.0];
    let within = words(&page(&shop));
    assert!(
        within.contains("L1 peaks at 88.0 A, within its 100 A limit.")
            && within.contains("no limit is exceeded"),
        "{within}"
    );
    assert!(!within.contains("over its 100 A limit"));
}

/// A current that is the limit to the last digit that it was read with, and no more than a binary digit above it.
#[test]
fn a_conductor_at_its_limit_is_not_over_it() {
    let mut shop = workshop();
    let before = shop.balance.before.as_mut().expect("a before");
    before.phase_max_a = [100.0_f64.next_up(), 60.0, 50.0];
    before.neutral_max_a = 70.0;
    shop.balance.after.phase_max_a = [100.0_f64.next_up(), 60.0, 50.0];
    shop.header.boards[0].phase_limit_a = Some(100.0);
    let id = shop.header.boards[0].id.clone();
    for node in shop.balance.nodes.iter_mut().filter(|node| node.id == id) {
        node.before.as_mut().expect("a before").phase_max_a = [100.0_f64.next_up(), 60.0, 50.0];
    }
    let at = words(&page(&shop));
    assert!(
        at.contains("L1 peaks at 100.0 A, within its 100 A limit.")
            && at.contains("no limit is exceeded"),
        "{at}"
    );
    assert!(at.contains("now at 100.0 % of its limit"), "{at}");
    assert!(!at.contains("over its 100 A limit"));
    assert!(!at.contains("still peaks at"), "{at}");

    shop.balance.before.as_mut().expect("a before").phase_max_a[0] = 100.1;
    assert!(words(&page(&shop)).contains("L1 peaks at 100.1 A, 0.1 A over its 100 A limit."));
}

#[test]
fn the_first_step_of_the_work_order_comes_first() {
    let mut shop = workshop();
    let text = words(&page(&shop));
    assert!(
        text.contains("starting with Edge bander heater from L1 to L3"),
        "{text}"
    );
    assert!(text.contains("Until then, put no further load on L1."));
    shop.balance.before.as_mut().expect("a before").phase_max_a = [60.0, 112.0, 50.0];
    let text = words(&page(&shop));
    assert!(!text.contains("no further load on L1"));
    assert!(text.contains("no further load on L2"), "{text}");
}

#[test]
fn proof_is_never_claimed_for_the_best_found() {
    let mut shop = workshop();
    assert!(
        words(&page(&shop))
            .contains("Best plan found. No allocation can have a neutral current below")
    );
    shop.balance.proof = Proof::None;
    let text = words(&page(&shop));
    assert!(
        text.contains("It is not proven that no better one exists") && !text.contains("Proven:")
    );
    shop.balance.proof = Proof::Optimal;
    assert!(words(&page(&shop)).contains("Proven: no other allocation"));
}

#[test]
fn hostile_names_stay_text() {
    let hostile =
        "<script>\u{1F525}alert('x')</script> & \"quoted\" \u{5E9}\u{5DC}\u{5D5}\u{5DD} \u{1}\n]]>";
    let mut shop = workshop();
    shop.header.name = hostile.to_owned();
    shop.header.boards[0].id = hostile.to_owned();
    shop.header.conductor_colours.phases[0] = Some(hostile.to_owned());
    shop.balance.moves[0].machine = hostile.to_owned();
    let work = &mut shop.balance.work_order.steps[0].moves[0];
    work.machines.push(hostile.to_owned());
    (work.at, work.circuit) = (hostile.to_owned(), Some(hostile.to_owned()));
    work.cautions.push(hostile.to_owned());
    shop.balance.machines[1].machine = hostile.to_owned();
    shop.balance.notes.push(hostile.to_owned());
    shop.machines[0].machine = hostile.to_owned();
    shop.energy.meters[0].id = hostile.to_owned();
    shop.energy.meters[0].quality[0].note = hostile.to_owned();
    shop.messages[0].text = hostile.to_owned();
    let page = without_script(&page(&shop));
    assert!(!page.contains("<script") && page.contains("&#60;script&#62;"));
    assert_well_formed(&page);
    let files = charts(
        &shop.header,
        Some(&shop.balance),
        &shop.energy,
        &shop.machines,
        None,
    )
    .expect("charts");
    let bars = files
        .iter()
        .find(|figure| figure.name == "energy-by-machine")
        .expect("bars");
    assert!(bars.file().contains("&lt;script&gt;") && bars.file().contains('\u{1F525}'));
    for figure in &files {
        assert!(!figure.file().contains("<script"));
        assert!(
            !figure.file().contains('\u{1}'),
            "XML forbids control characters"
        );
        assert_well_formed(&figure.file());
    }
}

#[test]
fn the_page_is_well_formed_small_and_loads_nothing() {
    let page = page(&workshop());
    assert_well_formed(&page);
    assert!(page.len() < 600_000, "{} bytes", page.len());
    assert!(page.contains("default-src 'none'; script-src 'sha256-"));
    // The hatching is defined in the page itself.
    let page = without_script(&page).replace("url(#over)", "");
    for outside in [
        "http://", "https://", "url(", "@import", "src=", "<link", "<script",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    let text = words(&page);
    assert!(!text.contains("NaN") && !text.contains(" inf "));
}

#[test]
fn a_year_of_minutes_is_reduced() {
    let mut shop = workshop();
    let trace = &mut shop.balance.trace;
    let first = trace.start_s[0];
    trace.start_s = (0..525_600).map(|minute| first + minute * 60).collect();
    let longer = |values: &[f64]| {
        values
            .iter()
            .copied()
            .cycle()
            .take(525_600)
            .collect::<Vec<f64>>()
    };
    trace.phase_before_a = trace
        .phase_before_a
        .take()
        .map(|phases| phases.map(|one| longer(&one)));
    trace.phase_after_a = [0, 1, 2].map(|phase| longer(&trace.phase_after_a[phase]));
    trace.neutral_before_a = trace.neutral_before_a.take().map(|one| longer(&one));
    trace.neutral_after_a = longer(&trace.neutral_after_a);
    let page = page(&shop);
    assert!(page.len() < 800_000, "{} bytes", page.len());
    let text = words(&page);
    assert!(
        text.contains("About 674 of them share a column"),
        "525 600 over 780 columns"
    );
    assert!(
        text.contains("Mar 2026 106.3"),
        "months instead of days in the table"
    );
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    assert_eq!(page(&workshop()), page(&workshop()));
}

#[test]
fn values_that_are_not_numbers_are_not_known() {
    let mut shop = workshop();
    shop.balance
        .before
        .as_mut()
        .expect("a before")
        .neutral_max_a = f64::NAN;
    shop.balance.trace.phase_after_a[1][5] = f64::NAN;
    shop.balance.trace.neutral_after_a[9] = f64::INFINITY;
    shop.machines[3].energy_kwh = f64::NAN;
    let page = page(&shop);
    assert!(!page.contains("NaN") && !words(&page).contains("inf "));
    assert!(words(&page).contains("not known"));
}

#[test]
fn machines_without_a_phase_are_named_and_nothing_is_compared() {
    let mut shop = workshop();
    shop.balance.before = None;
    shop.balance.trace.phase_before_a = None;
    shop.balance.trace.neutral_before_a = None;
    shop.balance.trace.worst_before = None;
    shop.balance.moves[0].from = Connection::Any;
    shop.balance.work_order.steps[0].moves[0].from = Connection::Any;
    let text = words(&page(&shop));
    assert!(text.contains("Some machines have no phase yet"));
    assert!(text.contains("from no phase yet"));
    assert!(!text.contains("N now"));
}

#[test]
fn without_a_machine_list_the_meter_answers() {
    let shop = workshop();
    let page = render(&shop.header, None, &shop.energy, &[], &[], None, None).expect("a page");
    let text = words(&page);
    assert!(
        text.contains("L1 peaks at 104.0 A, 4.0 A over its 100 A limit."),
        "{text}"
    );
    // Nobody is sent to a board that nothing is known to be wrong with.
    assert!(!text.contains("Before work begins"));
    assert!(text.contains("No move is proposed: no machine list was read."));
    assert_well_formed(&page);
}

#[test]
fn nothing_to_move_is_said_plainly() {
    let mut shop = workshop();
    shop.balance.moves.clear();
    shop.balance.work_order.steps.clear();
    shop.balance.before.as_mut().expect("a before").phase_max_a = [60.0, 60.0, 50.0];
    assert!(words(&page(&shop)).contains("Nothing to move"));
}

#[test]
fn headings_follow_in_order() {
    let page = page(&workshop());
    let mut last = 0;
    for part in page.split("<h").skip(1) {
        let Some(level) = part.chars().next().and_then(|c| c.to_digit(10)) else {
            continue;
        };
        assert!(level <= last + 1, "h{level} after h{last}");
        last = level;
    }
    assert_eq!(page.matches("<h1").count(), 1);
}

#[test]
fn every_chart_has_a_name_and_a_description() {
    let shop = workshop();
    let files = charts(
        &shop.header,
        Some(&shop.balance),
        &shop.energy,
        &shop.machines,
        None,
    )
    .expect("charts");
    assert_eq!(files.len(), 12);
    for figure in &files {
        assert!(figure.file().contains("<title") && !figure.description.is_empty());
        assert!(!figure.table.rows.is_empty(), "{}", figure.name);
    }
    assert!(
        shop.balance
            .machines
            .iter()
            .any(|share| share.basis == Basis::Measured)
    );
    assert_eq!(shop.balance.moves[0].from, Connection::ToNeutral(Phase::L1));
}

/// Findings are on the page, escaped, and a danger is what to do first.
#[test]
fn a_danger_is_the_first_thing_to_do_and_user_text_is_escaped() {
    use diagnosis::Diagnosis;
    use finding::{Evidence, Finding, Kind, Severity, Spot};
    let shop = workshop();
    let diagnosis = Diagnosis {
        findings: vec![Finding {
            kind: Kind::HighResistanceJoint,
            severity: Severity::Danger,
            spot: Spot {
                node: Some("<i>board</i>".to_owned()),
                ..Spot::default()
            },
            from: chrono::DateTime::UNIX_EPOCH,
            to: chrono::DateTime::UNIX_EPOCH,
            summary: "a joint is hot".to_owned(),
            evidence: Evidence::default().with("last_week_mohm", 22.5),
            accepted: false,
            action: "look at the joints".to_owned(),
            caution: "it can start a fire".to_owned(),
            source: "Ohm".to_owned(),
        }],
        ..Diagnosis::default()
    };
    let page = render(
        &shop.header,
        Some(&shop.balance),
        &shop.energy,
        &shop.machines,
        &shop.messages,
        Some(&diagnosis),
        None,
    )
    .expect("a page");
    assert_well_formed(&page);
    assert!(!page.contains("<i>board</i>"));
    let words = words(&page);
    assert!(words.contains("Danger: high-resistance joint,"));
    assert!(
        words.contains(
            "First It can start a fire. Look at the joints. Then Have a competent person"
        ),
        "{words}"
    );
    assert!(words.contains("1 danger, worst first"));
    assert!(words.contains("it can start a fire"));
    assert!(words.contains("last week 22.5 mΩ"));
}
