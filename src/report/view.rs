//! The page as its template sees it: everything formatted, nothing left to calculate.

use askama::Template;

use super::ReportError;
use super::answer::Answer;
use super::bill::BillView;
use super::demand_figures::cost_figure;
use super::evidence::{current_figures, data_figures, energy_figures};
use super::figure_view::FigureView;
use super::findings::FindingsView;
use super::first_screen::FirstScreen;
use super::format::{amps, counted, length, limit, period, quoted, with_unit};
use super::header::{ReportMessage, SiteHeader};
use super::moves::{MoveView, moves};
use super::new_machines::{NewMachines, NewMachinesView};
use super::phases_section::PhasesView;
use super::print_head::print_head;
use super::since::SinceView;
use super::sources::SourcesView;
use super::statements;
use super::study_tables::study_tables;
use super::trial::{self, TrialView};
use balance::BalanceResult;
use chart::style;
use demand::{EnergyResult, MachineEnergy};
use diagnosis::Diagnosis;
use export::{
    after_repair_sentence, all_loads_table, connected_table, coverage_table, enough_sentence,
    infeasible_sentences, later_moves, machines_table, meter_parts, nodes_table, optional_table,
    order_sentence, proof_sentence, quality_shown, repair_sentences, rounds_table, unmetered_table,
};
use tables::Table;
use units::Basis;

/// Readers of the page: the name in the page's script, and the words shown.
const READERS: [(&str, &str); 4] = [
    ("all", "everyone"),
    ("electrician", "electrician"),
    ("maintenance", "maintenance"),
    ("manager", "manager"),
];

/// The whole page.
#[derive(Debug, Template)]
#[template(path = "report.html", config = "askama.toml")]
pub(super) struct ReportPage {
    style: String,
    name: String,
    covered: String,
    facts: Vec<Fact>,
    first: FirstScreen,
    answer: Answer,
    since: Option<SinceView>,
    findings: Option<FindingsView>,
    phases: Option<PhasesView>,
    plan: Option<PlanView>,
    trial: Option<TrialView>,
    new_machines: Option<NewMachinesView>,
    script: &'static str,
    script_hash: String,
    messages: Vec<MessageView>,
    current_figures: Vec<FigureView>,
    energy_figures: Vec<FigureView>,
    data_figures: Vec<FigureView>,
    tables: EnergyTables,
    energy_statement: String,
    data_statement: String,
    bill: Option<BillView>,
    /// Bill to date by day.
    cost_figure: Option<FigureView>,
    notes: Vec<String>,
    sources: SourcesView,
    contents: Vec<(&'static str, &'static str)>,
}

/// A line of the head of the page.
#[derive(Debug)]
struct Fact {
    name: &'static str,
    value: String,
}

/// The moves of the plan.
#[derive(Debug)]
struct PlanView {
    title: String,
    moves: Vec<MoveView>,
    proof: String,
    /// What is repaired first, and what waits for it; empty where nothing is held back.
    repairs: Vec<String>,
    /// What the second step brings; empty without one.
    after_repair: String,
    later: Vec<String>,
    /// Why every allocation exceeds a limit; empty where one exceeds none.
    infeasible: Vec<String>,
    /// Whether a limit is exceeded between two steps.
    order: String,
    tests: Vec<String>,
    /// About the conductor colours; empty where there is nothing to note.
    caution: String,
    colours: bool,
    optional: Table,
    /// What the currents are after the plan.
    currents: String,
    tables: [Table; 4],
}

#[derive(Debug)]
struct MessageView {
    level: &'static str,
    text: String,
}

#[derive(Debug)]
struct EnergyTables {
    meters: [Table; 3],
    studies: Vec<Table>,
    coverage: Table,
    quality: Table,
}

impl ReportPage {
    pub(super) fn new(
        header: &SiteHeader,
        balance: Option<&BalanceResult>,
        energy: &EnergyResult,
        machines_energy: &[MachineEnergy],
        messages: &[ReportMessage],
        diagnosis: Option<&Diagnosis>,
        new_machines: Option<&NewMachines>,
    ) -> Result<ReportPage, ReportError> {
        let views = |figures: &[_]| figures.iter().map(FigureView::new).collect();
        let currents = balance.map_or_else(|| Ok(Vec::new()), |b| current_figures(header, b))?;
        let mut notes: Vec<String> = balance.map(|b| b.notes.clone()).unwrap_or_default();
        let of_baseline = energy.change.baseline.iter().flat_map(|one| &one.notes);
        let no_baseline = energy.change.no_baseline.iter();
        let no_baseline: Vec<String> = no_baseline
            .map(|why| format!("No baseline: {why}"))
            .collect();
        for note in energy.notes.iter().chain(of_baseline).chain(&no_baseline) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        let notes = notes.iter().map(|note| quoted(note)).collect();
        let tables = tables(header, energy);
        let first = FirstScreen::new(header, balance, energy, diagnosis, new_machines);
        let phases = diagnosis.and_then(|all| PhasesView::new(&all.phases, balance));
        let trial = balance.and_then(|balance| TrialView::new(header, balance));
        let new_machines = new_machines.and_then(NewMachinesView::new);
        let contents = [
            (true, "first", "Answers"),
            (true, "answer", "Phase loading"),
            (energy.since.is_some(), "since", "Since the last report"),
            (diagnosis.is_some(), "findings", "Findings"),
            (phases.is_some(), "phases", "Phase of each load"),
            (balance.is_some(), "moves", "Moves and cautions"),
            (
                balance.is_none() && !first.electrician.wrong.is_empty(),
                "cautions",
                "Before work begins",
            ),
            (trial.is_some(), "trial", "What-if board"),
            (new_machines.is_some(), "places", "New machines"),
            (!currents.is_empty(), "currents", "Currents"),
            (true, "energy", "Energy and demand"),
            (energy.cost.is_some(), "money", "Bill"),
            (true, "data", "Data"),
            (true, "method", "Method"),
            (true, "sources", "Sources"),
        ];
        let contents = contents.into_iter().filter(|(there, ..)| *there);
        let contents = contents.map(|(_, id, words)| (id, words)).collect();
        Ok(ReportPage {
            style: format!(
                "{}{}{}",
                style::css(),
                super::STYLE,
                print_head(&header.name, &covered(header, balance, energy))
            ),
            name: header.name.clone(),
            covered: covered(header, balance, energy),
            facts: facts(header),
            first,
            answer: Answer::new(header, balance, energy),
            since: energy.since.as_ref().map(SinceView::new),
            findings: diagnosis
                .map(|all| FindingsView::new(header.timezone, all))
                .transpose()?,
            phases,
            plan: balance.map(|balance| plan(header, balance)),
            trial,
            sources: SourcesView::new(&header.sources, balance.is_some(), new_machines.is_some()),
            new_machines,
            script: trial::SCRIPT,
            script_hash: trial::script_hash(),
            messages: message_views(messages),
            current_figures: views(&currents),
            energy_figures: views(&energy_figures(header, energy, machines_energy)?),
            data_figures: views(&data_figures(header, energy)?),
            energy_statement: statements::energy(energy),
            data_statement: statements::data(energy, tables.quality.rows.len()),
            tables,
            bill: energy.cost.as_ref().map(BillView::new),
            cost_figure: cost_figure(header, energy)?.as_ref().map(FigureView::new),
            notes,
            contents,
        })
    }
}

/// The period of the data: that of the plan, else from the first to the last reading of any meter.
fn covered(header: &SiteHeader, balance: Option<&BalanceResult>, energy: &EnergyResult) -> String {
    let bounds = balance
        .map(|balance| (balance.from, balance.to))
        .or_else(|| {
            let from = energy.meters.iter().map(|meter| meter.from).min()?;
            Some((from, energy.meters.iter().map(|meter| meter.to).max()?))
        });
    bounds.map_or_else(
        || "no readings".to_owned(),
        |(from, to)| {
            format!(
                "{} ({})",
                period(from, to, &header.timezone),
                length(from, to)
            )
        },
    )
}

fn facts(header: &SiteHeader) -> Vec<Fact> {
    let mut facts = vec![
        Fact {
            name: "Supply",
            value: format!(
                "three-phase four-wire, {}",
                with_unit(header.line_voltage_v, 0, "V")
            ),
        },
        Fact {
            name: "Limits",
            value: format!(
                "phases {}, neutral {}",
                limit(header.phase_limit_a),
                limit(header.neutral_limit_a)
            ),
        },
    ];
    if !header.boards.is_empty() {
        let boards: Vec<String> = header
            .boards
            .iter()
            .map(|board| {
                let limits = match (board.phase_limit_a, board.neutral_limit_a) {
                    (Some(phase), Some(neutral)) if (phase - neutral).abs() > 1e-9 => {
                        format!(" ({}, neutral {})", limit(phase), limit(neutral))
                    }
                    (Some(phase), _) => format!(" ({})", limit(phase)),
                    (None, _) => String::new(),
                };
                let fed = if board.fed_from == "supply" {
                    String::new()
                } else {
                    format!(" fed from {}", board.fed_from)
                };
                format!("{}{limits}{fed}", board.id)
            })
            .collect();
        facts.push(Fact {
            name: "Boards",
            value: boards.join(", "),
        });
    }
    let colours = &header.conductor_colours;
    let names = ["L1", "L2", "L3", "N"];
    let words: Vec<String> = names
        .into_iter()
        .zip(colours.phases.iter().chain([&colours.neutral]))
        .filter_map(|(name, word)| Some(format!("{name} {}", word.as_ref()?)))
        .collect();
    if !words.is_empty() {
        facts.push(Fact {
            name: "Conductor colours",
            value: words.join(", "),
        });
    }
    facts.push(Fact {
        name: "Time zone",
        value: header.timezone.name().replace('_', " "),
    });
    facts
}

fn plan(header: &SiteHeader, balance: &BalanceResult) -> PlanView {
    let count = balance.work_order.moves();
    let moves = moves(header, balance);
    PlanView {
        title: match (count, balance.before.is_some()) {
            (0, _) => "Nothing to move".to_owned(),
            (_, true) => {
                let saved = balance.before.as_ref().map_or(String::new(), |before| {
                    let less = before.neutral_rms_a - balance.after.neutral_rms_a;
                    format!(" reduce the neutral current by {} rms", amps(less))
                });
                let words = counted(count, "move", "moves");
                if count == 1 {
                    format!("{words}{}", saved.replace("reduce", "reduces"))
                } else {
                    format!("{words}{saved}")
                }
            }
            (_, false) => format!("{} to make", counted(count, "connection", "connections")),
        },
        colours: moves
            .iter()
            .any(|m| !m.to_colour.is_empty() || !m.from_colour.is_empty()),
        moves,
        proof: enough_sentence(balance)
            .into_iter()
            .chain(proof_sentence(balance))
            .collect::<Vec<_>>()
            .join(" "),
        repairs: repair_sentences(&balance.held_back)
            .iter()
            .map(|sentence| quoted(sentence))
            .collect(),
        after_repair: balance
            .after_repair
            .as_ref()
            .map_or_else(String::new, after_repair_sentence),
        later: balance
            .after_repair
            .as_ref()
            .map_or_else(Vec::new, later_moves),
        optional: optional_table(balance),
        currents: statements::currents(balance),
        tables: [
            nodes_table(balance),
            rounds_table(balance, header.timezone),
            connected_table(balance),
            machines_table(balance),
        ],
        infeasible: infeasible_sentences(balance.infeasible.as_ref()),
        order: if balance.work_order.steps.is_empty() {
            String::new()
        } else {
            order_sentence(&balance.work_order)
        },
        tests: balance
            .work_order
            .all_tests()
            .into_iter()
            .map(str::to_owned)
            .collect(),
        caution: balance
            .work_order
            .colour_caution
            .clone()
            .unwrap_or_default(),
    }
}

fn message_views(messages: &[ReportMessage]) -> Vec<MessageView> {
    let mut sorted: Vec<&ReportMessage> = messages.iter().collect();
    sorted.sort_by_key(|message| message.level);
    sorted
        .into_iter()
        .map(|message| MessageView {
            level: message.level.name(),
            text: quoted(&message.text),
        })
        .collect()
}

/// What the unmetered part of a meter is.
const UNMETERED: &str = "The unmetered part is what a meter measures beyond the meters below it: machines without a meter, \
                         losses and the tolerance of the meters. A negative value points to a wrong ratio or a reversed \
                         current transformer (CT), or to clocks that differ";

fn tables(header: &SiteHeader, energy: &EnergyResult) -> EnergyTables {
    let mut studies = study_tables(energy);
    studies.push(all_loads_table(energy, header.timezone));
    studies.push(unmetered_table(energy).with_method(UNMETERED));
    EnergyTables {
        meters: meter_parts(energy),
        studies,
        coverage: coverage_table(energy, header.timezone),
        quality: quality_shown(energy, header.timezone),
    }
}

/// What the bases of figures mean.
pub(super) fn basis_sentences() -> String {
    let [measured, rating, estimated] =
        [Basis::Measured, Basis::RatingOnly, Basis::Estimated].map(Basis::name);
    format!(
        "“{measured}” is from the meter's log, which replaces the figures of the machine list. “{rating}” is from the \
         machine list, with the rating taken as running all the time. “{estimated}” is rating × utilisation factor \
         during the schedule. What the supply meter measures beyond the listed machines is unmetered and stays on its \
         phase."
    )
}
