//! Files take from files below them: within a room no files take from each other in a circle. Read from the paths in the
//! source; left out are tests, and what a file takes from the `mod.rs` of its own folder or of one above.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// The code of a room's files by module: `::after_work::round`; that of the room's own `mod.rs` is empty.
pub(crate) type Modules = BTreeMap<String, String>;

#[test]
fn no_files_of_a_room_take_from_each_other_in_a_circle() {
    for (room, modules) in rooms() {
        let found = in_circles(&modules);
        assert!(found.is_empty(), "{room}: {found:#?}");
    }
}

#[test]
fn groups_and_expressions_close_a_circle_and_the_folder_above_does_not() {
    let room = |c: &str| -> Modules {
        let a = "use crate::Root;\nuse super::{\n    b::{B, C as D},\n    c,\n};";
        let b = "fn b() { crate::c::make(1) }";
        let files = [("", "use a::A;"), ("::a", a), ("::b", b), ("::c", c)];
        files.map(|(name, text)| (name.into(), code(text))).into()
    };
    let open = room("// super::b\n#[cfg(test)]\nmod tests {\n    use crate::a;\n}");
    assert!(in_circles(&open).is_empty());
    assert_eq!(in_circles(&room("use super::b::B;")), ["::b", "::c"]);
    assert_eq!(in_circles(&room("use super::{a::{A}};")).len(), 3);
}

/// Each room by its folder's name.
pub(crate) fn rooms() -> BTreeMap<String, Modules> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let entries = fs::read_dir(src).expect("the source");
    let folders = entries.map(|entry| entry.expect("an entry").path());
    let rooms: BTreeMap<String, Modules> = folders
        .filter(|folder| folder.is_dir())
        .map(|folder| {
            let mut modules = Modules::new();
            read(&folder.join("mod.rs"), "", &mut modules);
            let name = folder.file_name().expect("a name");
            (name.to_string_lossy().into_owned(), modules)
        })
        .collect();
    assert!(rooms.len() > 10, "only {} rooms were found", rooms.len());
    rooms
}

/// Reads a module and those that it declares.
fn read(file: &Path, module: &str, modules: &mut Modules) {
    let code = code(&fs::read_to_string(file).expect("a module"));
    let declared = |line: &str| Some(line.strip_suffix(';')?.rsplit_once("mod ")?.1.to_owned());
    for name in code.lines().filter_map(declared) {
        let mut inner = file.with_file_name(format!("{name}.rs"));
        if !inner.is_file() {
            inner = file.with_file_name(&name).join("mod.rs");
        }
        read(&inner, &format!("{module}::{name}"), modules);
    }
    modules.insert(module.to_owned(), code);
}

/// The lines of a file without comments and without what is there for tests only.
fn code(text: &str) -> String {
    let mut kept = String::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some(indent) = line.strip_suffix("#[cfg(test)]") {
            // An item ends with the first line of its own indentation that closes it.
            lines.find(|line| {
                let item = line.strip_prefix(indent).unwrap_or_default();
                item == "}" || !item.starts_with(' ') && item.ends_with(';')
            });
        } else if !line.trim_start().starts_with("//") {
            kept = kept + line + "\n";
        }
    }
    kept
}

/// All paths, groups expanded.
fn paths(code: &str) -> Vec<Vec<&str>> {
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    let (mut found, mut path, mut groups) = (Vec::new(), Vec::new(), vec![Vec::new()]);
    let (mut rest, mut joined) = (code, false);
    while let Some(first) = rest.chars().next() {
        let end = match first {
            ':' if rest.starts_with("::") => 2,
            c if is_word(c) => rest.find(|c| !is_word(c)).unwrap_or(rest.len()),
            c => c.len_utf8(),
        };
        let (token, left) = rest.split_at(end);
        rest = left.trim_start();
        if token == "{" && joined {
            groups.push(std::mem::take(&mut path));
        } else if joined {
            path.push(token);
        } else if token != "::" {
            found.push(std::mem::take(&mut path));
            if is_word(first) {
                path = [groups[groups.len() - 1].as_slice(), &[token]].concat();
            } else if token == "}" && groups.len() > 1 {
                groups.pop();
            }
        }
        joined = token == "::";
    }
    found
}

/// The module that a path leads to, unless it is the module itself or one above.
fn target<'m>(path: &[&str], module: &str, modules: &'m Modules) -> Option<&'m str> {
    let (mut at, mut rest) = match path {
        ["crate", rest @ ..] => ("", rest),
        ["self", rest @ ..] => (module, rest),
        ["super", ..] => (module, path),
        [name, _, ..] if modules.contains_key(&format!("{module}::{name}")) => (module, path),
        _ => return None,
    };
    while let ["super", inner @ ..] = rest {
        at = at.rsplit_once("::").map_or("", |(above, _)| above);
        rest = inner;
    }
    let mut found = modules.get_key_value(at)?.0;
    while let Some((name, inner)) = rest.split_first()
        && let Some((next, _)) = modules.get_key_value(&format!("{found}::{name}"))
    {
        (found, rest) = (next, inner);
    }
    let is_above = format!("{module}::").starts_with(&format!("{found}::"));
    (!is_above).then_some(found)
}

/// The modules that lead back to themselves.
fn in_circles(modules: &Modules) -> Vec<&str> {
    let mut reached: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (module, code) in modules {
        let paths = paths(code);
        let targets = paths.iter().map(|path| target(path, module, modules));
        reached.insert(module, targets.flatten().collect());
    }
    // Warshall: ways through one module more at a time.
    for through in modules.keys().map(String::as_str) {
        let onward = reached[through].clone();
        for ways in reached.values_mut().filter(|ways| ways.contains(through)) {
            ways.extend(&onward);
        }
    }
    reached.retain(|module, ways| ways.contains(module));
    reached.into_keys().collect()
}
