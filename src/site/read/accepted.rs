//! Reads `[[accepted]]`, the findings that the user has accepted.

use super::date::read_date;
use super::table::SiteTable;
use crate::model::accepted::Accepted;
use electrical::Phase;
use finding::{Kind, Severity};
use message::{Message, did_you_mean};

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Vec<Accepted> {
    root.tables("accepted")
        .iter()
        .filter_map(|table| {
            let accepted = read_one(table);
            table.finish();
            accepted
        })
        .collect()
}

fn read_one(table: &SiteTable<'_, '_>) -> Option<Accepted> {
    let name = table.required_text("kind");
    let kind = name.and_then(|name| {
        let kind = Kind::from_name(&name.value);
        if kind.is_none() {
            let names = Kind::ALL.map(Kind::name);
            table.source.push(
                Message::error(
                    "unknown-kind",
                    format!("there is no kind of finding `{}`", name.value),
                )
                .at(
                    table.source.place(&name.span),
                    "expected a name that `tapoff explain` lists",
                )
                .maybe_help(did_you_mean(&name.value, names)),
            );
        }
        kind
    });
    let at = table.text("at").map(|text| text.value);
    let phase = table.word("phase", &Phase::ALL.map(|phase| (phase.name(), phase)));
    let until = table
        .text("until")
        .and_then(|date| read_date(table.source, &date));
    let severities = [Severity::Danger, Severity::Warning, Severity::Notice];
    let severity = table.word("severity", &severities.map(|one| (one.name(), one)));
    let figure = table.text("figure").map(|text| text.value);
    let below = table.number("below");
    let note = table.text("note").map(|text| text.value);
    Some(Accepted {
        kind: kind?,
        at,
        phase,
        until,
        severity: severity.unwrap_or(Severity::Warning),
        below: figure.zip(below),
        note,
    })
}

#[cfg(test)]
mod tests {
    use crate::read_site;

    /// The names of what is wrong with a site file that ends in this.
    fn faults(end: &str) -> Vec<&'static str> {
        let folder = tempfile::tempdir().expect("a folder");
        let text = format!(
            "[site]\nname = \"test\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n{end}"
        );
        std::fs::write(folder.path().join("site.toml"), text).expect("written");
        let head = "machine,circuit,connection,power_kw\n";
        std::fs::write(folder.path().join("machines.csv"), head).expect("written");
        match read_site(folder.path()) {
            Ok(_) => Vec::new(),
            Err(errors) => errors.0.all().iter().map(|message| message.name).collect(),
        }
    }

    #[test]
    fn every_fault_of_an_accepted_finding_or_a_threshold_is_told() {
        assert!(faults("[[accepted]]\nkind = \"phase-loss\"\nphase = \"L2\"\n").is_empty());
        assert_eq!(
            faults("[[accepted]]\nkind = \"phase-lost\"\n"),
            ["unknown-kind"]
        );
        assert_eq!(
            faults("[[accepted]]\nkind = \"phase-loss\"\nphase = \"L4\"\n"),
            ["unknown-word"]
        );
        assert_eq!(
            faults("[[accepted]]\nkind = \"phase-loss\"\nunti = \"2026-01-01\"\n"),
            ["unknown-key"]
        );
        assert_eq!(
            faults("[[accepted]]\nkind = \"phase-loss\"\nuntil = \"soon\"\n").len(),
            1
        );
        assert_eq!(faults("[thresholds]\nstep_pc = 3\n"), ["unknown-key"]);
        assert_eq!(faults("[thresholds]\nstep_pct = 300\n").len(), 1);
        assert!(faults("[thresholds]\nstep_pct = 3\n").is_empty());
    }
}
