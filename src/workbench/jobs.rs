//! Commands of the program that take a while: run apart, one page for each, stopped on request.
//!
//! An answer is made once for the same question and the same files: asked again, the page of the first is shown.

use std::path::Path;
use std::process::Stdio;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Instant;

use tokio::process::Command;
use tokio::sync::Notify;

use crate::lock::locked;

/// Answers that are kept.
const MOST_KEPT: usize = 50;

/// All commands that were begun.
#[derive(Debug, Default)]
pub(crate) struct Jobs {
    next: AtomicU64,
    all: Mutex<Vec<Arc<Job>>>,
}

/// A command of the program.
#[derive(Debug)]
pub(crate) struct Job {
    pub(crate) id: u64,
    /// What it answers, for the page.
    pub(crate) title: String,
    /// The page to go to once it is done, where that is another.
    pub(crate) leads_to: Option<&'static str>,
    key: String,
    begun: Instant,
    state: Mutex<JobState>,
    stop: Notify,
}

/// How far it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum JobState {
    Running,
    Stopped,
    /// Exit status, results, and everything else that it said.
    Done(i32, String, String),
}

/// What is asked.
#[derive(Clone, Debug)]
pub(crate) struct Question {
    pub(crate) title: String,
    pub(crate) arguments: Vec<String>,
    pub(crate) leads_to: Option<&'static str>,
    /// Checksum of the files that the answer rests on.
    pub(crate) files: String,
}

impl Jobs {
    /// The page of a question that is being worked on or answered, else a new one.
    pub(crate) fn ask(&self, program: &Path, question: Question) -> u64 {
        let key = format!("{}\n{}", question.arguments.join("\n"), question.files);
        let mut all = locked(&self.all);
        let known = all.iter().find(|job| {
            let state = locked(&job.state);
            job.key == key && matches!(*state, JobState::Running | JobState::Done(0 | 1, ..))
        });
        if let Some(known) = known {
            return known.id;
        }
        let job = Arc::new(Job {
            id: self.next.fetch_add(1, Ordering::Relaxed) + 1,
            title: question.title,
            leads_to: question.leads_to,
            key,
            begun: Instant::now(),
            state: Mutex::new(JobState::Running),
            stop: Notify::new(),
        });
        let mut command = Command::new(program);
        command
            .args(&question.arguments)
            .stdin(Stdio::null())
            .kill_on_drop(true);
        tokio::spawn(run(Arc::clone(&job), command));
        all.push(Arc::clone(&job));
        if all.len() > MOST_KEPT
            && let Some(oldest) = all
                .iter()
                .position(|job| *locked(&job.state) != JobState::Running)
        {
            all.remove(oldest);
        }
        job.id
    }

    /// Stops what runs, and keeps no answer.
    pub(crate) fn forget(&self) {
        for job in locked(&self.all).drain(..) {
            job.stop();
        }
    }

    pub(crate) fn of(&self, id: u64) -> Option<Arc<Job>> {
        locked(&self.all).iter().find(|job| job.id == id).cloned()
    }
}

async fn run(job: Arc<Job>, mut command: Command) {
    let state = tokio::select! {
        done = command.output() => match done {
            Ok(done) => {
                let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
                JobState::Done(done.status.code().unwrap_or(2), text(&done.stdout), text(&done.stderr))
            }
            Err(error) => JobState::Done(2, String::new(), format!("the program could not be started: {error}")),
        },
        // Dropped with the other branch, the command is killed.
        () = job.stop.notified() => JobState::Stopped,
    };
    *locked(&job.state) = state;
}

impl Job {
    pub(crate) fn state(&self) -> JobState {
        locked(&self.state).clone()
    }

    pub(crate) fn seconds(&self) -> u64 {
        self.begun.elapsed().as_secs()
    }

    pub(crate) fn stop(&self) {
        self.stop.notify_one();
    }
}
