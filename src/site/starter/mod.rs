//! A commented site to begin with.

use std::fmt::Write as _;

use crate::model::meter::Meter;

/// The files of a starter site, named within its folder.
#[must_use]
pub fn starter_files(name: &str) -> [(&'static str, String); 2] {
    let quoted = toml::Value::String(name.to_owned()).to_string();
    [
        (
            "site.toml",
            include_str!("site.toml").replace("\"@NAME@\"", &quoted),
        ),
        ("machines.csv", include_str!("machines.csv").to_owned()),
    ]
}

/// A site file around a log whose meters are known: the supply can be added later.
#[must_use]
pub fn site_around(name: &str, zone: &str, file: &str, meters: &[Meter]) -> String {
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let mut text = format!(
        "# Enough for `tapoff energy` and bills. For phases, machines and limits add `[supply]` with `line_voltage_v` and\n\
         # `phase_limit_a`, and machines.csv; for bills, `[[tariff]]`. `tapoff explain` has all keys.\n\
         [site]\nname = {}\ntimezone = {}\n",
        quoted(name),
        quoted(zone)
    );
    let files = quoted(&format!("meters/{}", escaped(file)));
    for meter in meters {
        let id = quoted(&meter.id);
        let _ = write!(
            text,
            "\n[[meter]]\nid = {id}\nmeasures = \"supply\"\nfiles = {files}\n"
        );
        if let Some(point) = &meter.point {
            let _ = writeln!(text, "point = {}", quoted(point));
        }
    }
    text
}

/// A file's name as a pattern that fits it alone.
fn escaped(file: &str) -> String {
    file.chars()
        .map(|sign| match sign {
            '?' | '*' | '[' | ']' => format!("[{sign}]"),
            sign => sign.to_string(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read_site;
    use message::Level;

    /// The site file with every commented line of TOML switched on; prose and lines of other files stay comments.
    fn switched_on(text: &str) -> String {
        let is_toml = |line: &str| {
            let key = line.split(" = ").next().unwrap_or_default();
            let is_key = key
                .bytes()
                .all(|b| b.is_ascii_lowercase() || b"_0123456789".contains(&b));
            line.starts_with(['[', ']']) || line.starts_with("  {") || key != line && is_key
        };
        let lines = text.lines().map(|line| match line.strip_prefix("# ") {
            Some(rest) if is_toml(rest) => rest,
            _ => line,
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn every_commented_example_is_read_once_it_is_switched_on() {
        let folder = tempfile::tempdir().expect("a folder");
        for (file, text) in starter_files("Mill") {
            let text = if file == "site.toml" {
                switched_on(&text)
            } else {
                text
            };
            std::fs::write(folder.path().join(file), text).expect("a file");
        }
        let (site, messages) = read_site(folder.path()).expect("a sound site");
        assert_eq!(messages.of(Level::Warning).count(), 0, "{messages:?}");
        let counts = [
            site.tariffs.len(),
            site.meters.len(),
            site.works.len(),
            site.variables.len(),
        ];
        assert_eq!(counts, [1, 1, 1, 1]);
        assert_eq!(site.meters[0].columns.len(), 8);
        assert!(site.baseline.is_some() && site.carbon.is_some() && site.currency.is_some());
        assert!(site.boards[0].feeder.is_some() && site.circuits[0].cable.is_some());
    }

    #[test]
    fn it_reads_without_a_remark_whatever_its_name() {
        for name in ["Mill", "a \"b\" \\ c", "ümläut\ttab", "'''"] {
            let folder = tempfile::tempdir().expect("a folder");
            for (file, text) in starter_files(name) {
                std::fs::write(folder.path().join(file), text).expect("a file");
            }
            let (site, messages) = read_site(folder.path()).expect("a sound site");
            assert_eq!(site.name, name);
            assert_eq!(messages.of(Level::Warning).count(), 0, "{messages:?}");
        }
    }
}
