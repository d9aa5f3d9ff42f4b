//! Reads `[[work]]`; what was moved is resolved once the machines are known.

use chrono::NaiveDateTime;

use super::table::{Located, SiteTable, Source};
use crate::model::connection::Connection;
use crate::model::node::Node;
use crate::model::site::Site;
use crate::model::work::{Moved, Work, work_time};
use message::{Message, did_you_mean};

/// Work whose machines are still names.
pub(crate) struct WorkDraft {
    done: NaiveDateTime,
    moves: Vec<(Located<String>, Connection)>,
    note: Option<String>,
}

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Vec<WorkDraft> {
    root.tables("work")
        .iter()
        .filter_map(|table| {
            let draft = read_one(table);
            table.finish();
            draft
        })
        .collect()
}

fn read_one(table: &SiteTable<'_, '_>) -> Option<WorkDraft> {
    let date = table.required_text("date");
    let done = date.and_then(|date| {
        let done = work_time(&date.value);
        if done.is_none() {
            table.source.push(
                Message::error("date", format!("`{}` is not a date", date.value)).at(
                    table.source.place(&date.span),
                    "expected a local date such as `2026-03-21`, or with the hour `2026-03-21 14:00`",
                ),
            );
        }
        done
    });
    let moves = table
        .tables("moves")
        .iter()
        .filter_map(|one| {
            let machine = one.required_text("machine");
            let from = one.required_text("from");
            one.finish();
            let from = from.and_then(|from| {
                let read = from.value.parse::<Connection>().ok();
                if read.is_none() {
                    one.source.push(
                        Message::error(
                            "not-a-connection",
                            format!("`{}` is not a connection", from.value),
                        )
                        .at(
                            one.source.place(&from.span),
                            "expected where it was before, such as `L1` or `L1-L2`",
                        ),
                    );
                }
                read
            });
            Some((machine?, from?))
        })
        .collect();
    let note = table.text("note").map(|text| text.value);
    Some(WorkDraft {
        done: done?,
        moves,
        note,
    })
}

/// Finds the machines, and those of a circuit that moved as one; earliest work first.
pub(crate) fn resolve(drafts: Vec<WorkDraft>, site: &Site, source: &Source<'_>) -> Vec<Work> {
    let mut works: Vec<Work> = drafts
        .into_iter()
        .map(|draft| Work {
            moves: draft
                .moves
                .iter()
                .flat_map(|(name, from)| moved(site, source, name, *from))
                .collect(),
            note: draft.note,
            ..Work::since(draft.done, site.timezone)
        })
        .collect();
    works.sort_by_key(|work| work.done);
    works
}

fn moved(site: &Site, source: &Source<'_>, name: &Located<String>, from: Connection) -> Vec<Moved> {
    let machines: Vec<usize> = (0..site.machines.len())
        .filter(|&index| {
            let machine = &site.machines[index];
            let on_circuit = matches!(machine.tapped_off, Node::Circuit(circuit) if site.circuits[circuit].id == name.value);
            machine.name == name.value || on_circuit
        })
        .collect();
    if machines.is_empty() {
        let names = site
            .machines
            .iter()
            .map(|machine| machine.name.as_str())
            .chain(site.circuits.iter().map(|circuit| circuit.id.as_str()));
        source.push(
            Message::error(
                "unknown-target",
                format!("`{}` was moved, but does not exist", name.value),
            )
            .at(
                source.place(&name.span),
                "expected the name of a machine or circuit",
            )
            .maybe_help(did_you_mean(&name.value, names)),
        );
    }
    machines
        .into_iter()
        .map(|machine| Moved { machine, from })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read_site;
    use electrical::Phase;

    fn read(end: &str) -> Result<Site, Vec<&'static str>> {
        let folder = tempfile::tempdir().expect("a folder");
        let text = format!(
            "[site]\nname = \"test\"\ntimezone = \"Europe/London\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n[[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n{end}"
        );
        std::fs::write(folder.path().join("site.toml"), text).expect("written");
        let list = "machine,circuit,connection,power_kw\nKiln,DB1,L2,3\n";
        std::fs::write(folder.path().join("machines.csv"), list).expect("written");
        read_site(folder.path())
            .map(|(site, _)| site)
            .map_err(|errors| errors.0.all().iter().map(|message| message.name).collect())
    }

    #[test]
    fn the_day_begins_at_local_midnight_and_an_hour_may_be_given() {
        let end = "[[work]]\ndate = \"2026-06-10 14:30\"\n[[work]]\ndate = \"2026-06-02\"\nmoves = [{ machine = \"Kiln\", from = \"L1\" }]\n";
        let site = read(end).expect("a site");
        // British summer time is an hour ahead of UTC.
        assert_eq!(site.works[0].done.to_rfc3339(), "2026-06-01T23:00:00+00:00");
        assert_eq!(site.works[1].done.to_rfc3339(), "2026-06-10T13:30:00+00:00");
        let moved = Moved {
            machine: 0,
            from: Connection::ToNeutral(Phase::L1),
        };
        assert_eq!(site.works[0].moves, [moved]);
    }

    #[test]
    fn what_cannot_be_understood_is_told() {
        let faults = |end: &str| read(end).expect_err("faults");
        assert_eq!(faults("[[work]]\ndate = \"June\"\n"), ["date"]);
        let start = "[[work]]\ndate = \"2026-06-02\"\n";
        assert_eq!(
            faults(&format!(
                "{start}moves = [{{ machine = \"Klin\", from = \"L1\" }}]\n"
            )),
            ["unknown-target"]
        );
        assert_eq!(
            faults(&format!(
                "{start}moves = [{{ machine = \"Kiln\", from = \"L4\" }}]\n"
            )),
            ["not-a-connection"]
        );
    }
}
