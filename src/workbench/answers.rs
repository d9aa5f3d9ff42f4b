//! What the program answers: its own commands, run for the site, each with a page of its own.

use std::sync::Arc;

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};

use crate::folder_state::folder_state;
use crate::jobs::{JobState, Question};
use crate::pages::{self, AnswersPage, Fields, JobPage, to_start};
use crate::report_files::{REPORT, report_folder};
use crate::site_folder::{SiteFolder, site_of};
use crate::workbench_state::Workbench;

/// Name of the command, title, what it answers.
const QUESTIONS: [(&str, &str, &str); 6] = [
    (
        "report",
        "The report",
        "One page for all: what is wrong, the plan with its what-if board, energy and bill. It can be saved and sent.",
    ),
    (
        "check",
        "Is all in order?",
        "What is read and how, what is missing, and currents above a limit.",
    ),
    (
        "diagnose",
        "What is wrong?",
        "Faults that the logs show, worst first, with evidence and cautions.",
    ),
    (
        "balance",
        "Which phase for each load?",
        "The moves, in the order of work, and what they do to the neutral.",
    ),
    (
        "energy",
        "Where do the kWh go?",
        "Energy, maximum demand, load factor and the bill.",
    ),
    (
        "phases",
        "Which phase is each load on?",
        "From logs, readings and switching tests.",
    ),
];

pub(crate) async fn questions(State(workbench): State<Arc<Workbench>>) -> Response {
    match workbench.site() {
        Some(folder) => shown(&folder, ""),
        None => to_start(),
    }
}

fn shown(folder: &SiteFolder, fault: &str) -> Response {
    pages::page(&AnswersPage {
        site: site_of(folder).1,
        questions: QUESTIONS.to_vec(),
        fault: fault.to_owned(),
    })
}

pub(crate) async fn ask(
    State(workbench): State<Arc<Workbench>>,
    Path(name): Path<String>,
) -> Response {
    let Some(folder) = workbench.site() else {
        return to_start();
    };
    let Some((command, title, _)) = QUESTIONS.iter().find(|(command, ..)| *command == name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let mut arguments = vec![(*command).to_owned(), folder.path().display().to_string()];
    if *command == "report" {
        let into = report_folder(&workbench, &folder).display().to_string();
        arguments.extend(["-o".to_owned(), into, "--force".to_owned()]);
    }
    begin(
        &workbench,
        &folder,
        title,
        arguments,
        (*command == "report").then_some(REPORT),
    )
}

fn begin(
    workbench: &Workbench,
    folder: &SiteFolder,
    title: &str,
    arguments: Vec<String>,
    leads_to: Option<&'static str>,
) -> Response {
    let files = match folder_state(folder) {
        Ok(files) => files,
        Err(error) => return shown(folder, &error.to_string()),
    };
    let question = Question {
        title: title.to_owned(),
        arguments,
        leads_to,
        files,
    };
    let id = workbench.jobs.ask(&workbench.program, question);
    Redirect::to(&format!("/jobs/{id}")).into_response()
}

/// Fields of the form for a new machine, and the options that they stand for.
const OPTIONS: [(&str, &str); 5] = [
    ("name", "--name"),
    ("power_kw", "--power-kw"),
    ("power_factor", "--power-factor"),
    ("connection", "--connection"),
    ("schedule", "--schedule"),
];

pub(crate) async fn place(
    State(workbench): State<Arc<Workbench>>,
    Form(fields): Form<Fields>,
) -> Response {
    let Some(folder) = workbench.site() else {
        return to_start();
    };
    let mut arguments = vec!["place".to_owned(), folder.path().display().to_string()];
    for (name, option) in OPTIONS {
        let typed = fields
            .iter()
            .find(|(key, value)| key == name && !value.trim().is_empty());
        if let Some((_, value)) = typed {
            // One word, so that no value is taken for an option.
            arguments.push(format!("{option}={}", value.trim()));
        }
    }
    begin(
        &workbench,
        &folder,
        "Where does the new machine fit?",
        arguments,
        None,
    )
}

pub(crate) async fn job(State(workbench): State<Arc<Workbench>>, Path(id): Path<u64>) -> Response {
    let (Some(folder), Some(job)) = (workbench.site(), workbench.jobs.of(id)) else {
        return (
            StatusCode::NOT_FOUND,
            pages::notice("Not here", "This answer is no longer kept: ask again."),
        )
            .into_response();
    };
    let state = job.state();
    if let (JobState::Done(0 | 1, ..), Some(page)) = (&state, job.leads_to) {
        return Redirect::to(page).into_response();
    }
    let (said, out, err) = match &state {
        JobState::Running => (format!("Working for {} s.", job.seconds()), "", ""),
        JobState::Stopped => ("Stopped before it was done.".to_owned(), "", ""),
        JobState::Done(0, out, err) => (String::new(), out.as_str(), err.as_str()),
        JobState::Done(1, out, err) => (
            "A limit is exceeded.".to_owned(),
            out.as_str(),
            err.as_str(),
        ),
        JobState::Done(_, out, err) => (
            "It could not be done.".to_owned(),
            out.as_str(),
            err.as_str(),
        ),
    };
    pages::page(&JobPage {
        site: site_of(&folder).1,
        id,
        title: job.title.clone(),
        is_running: state == JobState::Running,
        state: said,
        out: out.to_owned(),
        err: err.to_owned(),
        leads_to: job.leads_to.unwrap_or_default(),
    })
}

pub(crate) async fn stop(State(workbench): State<Arc<Workbench>>, Path(id): Path<u64>) -> Response {
    if let Some(job) = workbench.jobs.of(id) {
        job.stop();
    }
    Redirect::to(&format!("/jobs/{id}")).into_response()
}
