//! What the targets share: a small site in memory, read to the end, its messages drawn.

pub mod interval_files;
pub mod logs;

use std::fs;
use std::hint::black_box;
use std::panic;
use std::path::Path;
use std::sync::Once;

// What the compiled-in counters call, for `seeds`, which fuzzes nothing.
use libfuzzer_sys as _;
use tapoff::app::{Console, ExitStatus, run};
use tapoff::baseline::read_variables;
use tapoff::demand;
use tapoff::message::{InputErrors, Level, Messages};
use tapoff::metering::Period;
use tapoff::site::read_site;
use tapoff::wiring::read_logs;
use tempfile::TempDir;

/// Supply, one board, two circuits and a schedule; a target adds its meters.
pub const SITE: &str = "\
[site]
name = 'Fuzz'
timezone = 'Europe/London'
[supply]
line_voltage_v = 400
phase_limit_a = 63
[[board]]
id = 'DB1'
fed_from = 'supply'
phase_limit_a = 50
[[circuit]]
id = 'C1'
board = 'DB1'
protective_device = 'gG 25'
[[circuit]]
id = 'C2'
board = 'DB1'
phases = 'L1'
protective_device = 'B 16'
[[schedule]]
name = 'day shift'
days = 'Mon-Fri'
from = '07:30'
to = '16:00'
";

/// Two machines of [`SITE`].
pub const MACHINES: &str = "\
machine,circuit,connection,power_kw,power_factor,schedule,movable
saw,C1,3ph,2.4,0.8,day shift,
lamps,C2,L1,0.1,1,,yes
";

/// No message of one fault takes more: a terminal shows some fifty lines of eighty characters.
const LONGEST_MESSAGE: usize = 8000;

/// A site folder in memory.
#[derive(Debug)]
pub struct Workshop {
    folder: TempDir,
}

impl Workshop {
    /// [`SITE`] with [`MACHINES`].
    ///
    /// # Panics
    ///
    /// Where no temporary folder can be made.
    #[must_use]
    pub fn new() -> Workshop {
        let memory = Path::new("/dev/shm");
        let folder = if memory.is_dir() {
            TempDir::new_in(memory)
        } else {
            TempDir::new()
        };
        let workshop = Workshop {
            folder: folder.expect("a temporary folder can be made"),
        };
        workshop.put("site.toml", SITE);
        workshop.put("machines.csv", MACHINES);
        workshop
    }

    /// A file of the site, new or written over.
    ///
    /// # Panics
    ///
    /// Where it cannot be written.
    pub fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        fs::write(self.folder.path().join(name), content).expect("memory can be written");
    }

    /// Its folder.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// A file of the site less, if it is there.
    pub fn remove(&self, name: &str) {
        // Most often it is not.
        let _ = fs::remove_file(self.folder.path().join(name));
    }

    /// Reads the site and its logs, draws what there is to say, and adds up what was read.
    pub fn read(&self) {
        hear_our_own_panics();
        let (site, mut messages) = match read_site(self.folder.path()) {
            Ok(read) => read,
            Err(InputErrors(messages)) => return drawn(&messages),
        };
        let logs = read_logs(&site, Period::default(), &mut messages);
        read_variables(&site, &mut messages);
        drawn(&messages);
        if !messages.has_errors() {
            black_box(demand::analyse(&site, &logs, None));
        }
    }

    /// The same as the command does it, its tables included.
    ///
    /// # Panics
    ///
    /// On a find: a failure without a word, or words that are no text.
    pub fn check(&self) {
        hear_our_own_panics();
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut console = Console {
            out: &mut out,
            err: &mut err,
            colour: false,
        };
        let folder = self.folder.path().to_string_lossy();
        let status = run(["tapoff", "check", &*folder], &mut console);
        if status == ExitStatus::Failed {
            assert!(!err.is_empty(), "it failed without a word");
        }
        for text in [out, err] {
            sound(&String::from_utf8(text).expect("what is said is text"));
        }
    }
}

impl Default for Workshop {
    fn default() -> Workshop {
        Workshop::new()
    }
}

/// Draws each message alone, as long as a person would read on.
fn drawn(messages: &Messages) {
    for message in messages.all().iter().take(40) {
        let mut alone = Messages::new();
        alone.push(message.clone());
        let text = alone.draw(message.level, false);
        sound(&text);
        assert!(!text.is_empty() && !message.text.is_empty());
        assert!(
            text.len() <= LONGEST_MESSAGE,
            "a message of {} bytes",
            text.len()
        );
    }
    black_box(messages.draw(Level::Error, true));
}

/// Nothing that a terminal would obey.
fn sound(text: &str) {
    let obeyed = |c: &char| c.is_control() && *c != '\n';
    if let Some(c) = text.chars().find(obeyed) {
        panic!("{c:?} reaches the terminal");
    }
}

/// A panic of a library at damaged input is caught by the program, and meant to be; one of its own
/// is a fault, caught or not.
fn hear_our_own_panics() {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        // The program sets its own hook before it reads the first Parquet file.
        let workshop = Workshop::new();
        workshop.put(
            "site.toml",
            format!("{SITE}[[meter]]\nid = 'a'\nmeasures = 'supply'\nfiles = 'a'\n"),
        );
        workshop.put("a", "PAR1PAR1");
        if let Ok((site, mut messages)) = read_site(workshop.folder.path()) {
            read_logs(&site, Period::default(), &mut messages);
            assert!(messages.has_errors(), "that is no Parquet file");
        }
        let before = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            let file = info.location().map_or("", |location| location.file());
            if !file.contains("/registry/") && !file.starts_with("/rustc/") {
                eprintln!("{info}");
                std::process::abort();
            }
            before(info);
        }));
    });
}
