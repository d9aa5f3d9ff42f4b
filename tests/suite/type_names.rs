//! One name for one thing: a type's name is declared once in the source, whatever the room. Tests are left out.

use std::collections::BTreeMap;

use crate::circles::rooms;

#[test]
fn no_type_name_is_declared_twice() {
    let mut declared: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (room, modules) in rooms() {
        for (module, code) in modules {
            for name in code.lines().filter_map(type_name) {
                let places = declared.entry(name.to_owned()).or_default();
                places.push(format!("{room}{module}"));
            }
        }
    }
    assert!(
        declared.len() > 500,
        "only {} types were found",
        declared.len()
    );
    declared.retain(|_, places| places.len() > 1);
    assert!(declared.is_empty(), "{declared:#?}");
}

#[test]
fn type_declarations_are_recognised() {
    let name = |line| type_name(line);
    assert_eq!(name("pub struct Table {"), Some("Table"));
    assert_eq!(name("pub(super) enum Kind<'a> {"), Some("Kind"));
    assert_eq!(name("    struct Inner;"), Some("Inner"));
    assert_eq!(name("pub(crate) type Series = Vec<f64>;"), Some("Series"));
    assert_eq!(name("trait Shape: Copy {"), Some("Shape"));
    // The associated type of an implementation is no declaration, nor is a name that a macro fills in.
    assert_eq!(name("    type Item = f64;"), None);
    assert_eq!(name("pub struct $name {"), None);
    assert_eq!(name("let structure = Table::new();"), None);
}

/// The name of the type that a line declares.
fn type_name(line: &str) -> Option<&str> {
    let is_indented = line.starts_with(' ');
    let mut code = line.trim_start();
    if let Some(public) = code.strip_prefix("pub") {
        let is_restricted = public.starts_with('(');
        let end = if is_restricted {
            public.find(')')? + 1
        } else {
            0
        };
        code = public[end..].trim_start();
    }
    let (keyword, rest) = code.split_once(' ')?;
    match keyword {
        "struct" | "enum" | "trait" | "union" => {}
        "type" if !is_indented => {}
        _ => return None,
    }
    let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_');
    let name = &rest[..end.unwrap_or(rest.len())];
    name.starts_with(|c: char| c.is_uppercase()).then_some(name)
}
