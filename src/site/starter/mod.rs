//! A commented site to begin with.

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read_site;
    use message::Level;

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
