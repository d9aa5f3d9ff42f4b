//! The published schemas beside the results: nothing is written that they do not tell, nothing that they require
//! is missing.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::program::{command, finished};
use crate::sample::sample_json;

/// Each schema with a command line that writes such a result.
const RESULTS: [(&str, &str); 10] = [
    ("check", "check sample-data/ferry-lane"),
    ("balance", "balance sample-data/ferry-lane"),
    ("phases", "phases sample-data/ferry-lane"),
    (
        "place",
        "place sample-data/ferry-lane --name Lathe --power-kw 20",
    ),
    (
        "place-together",
        "place sample-data/ferry-lane --new-machines sample-data/new-machines.csv",
    ),
    (
        "diagnose",
        "diagnose sample-data/ferry-lane --since-work 2026-03-23",
    ),
    ("energy", "energy sample-data/ferry-lane --by day"),
    ("bill", "energy sample-data/ferry-lane --bill"),
    (
        "invoice",
        "energy sample-data/ferry-lane --invoice sample-data/ferry-lane-invoice.csv",
    ),
    ("what-if", "energy sample-data/ferry-lane --bill --what-if"),
];

fn schema(name: &str) -> Value {
    let run = finished(command().args(["schema", name]));
    assert_eq!(run.status, 0, "{}", run.err);
    serde_json::from_str(&run.out).expect("JSON")
}

/// A walk through a result beside its schema, as far as the schemas go: references, alternatives, parts.
struct Walk<'s> {
    root: &'s Value,
    faults: BTreeSet<String>,
    values: usize,
}

impl<'s> Walk<'s> {
    /// The schemas that a schema stands for: one, or the alternatives.
    fn alternatives(&self, schema: &'s Value) -> Vec<&'s Value> {
        if let Some(reference) = schema["$ref"].as_str() {
            let pointer = reference.strip_prefix('#').expect("a reference within");
            let target = self.root.pointer(pointer).expect("a definition");
            return self.alternatives(target);
        }
        for key in ["anyOf", "oneOf"] {
            if let Some(all) = schema[key].as_array() {
                return all.iter().flat_map(|one| self.alternatives(one)).collect();
            }
        }
        vec![schema]
    }

    fn visit(&mut self, at: &str, value: &Value, schema: &'s Value) {
        self.values += 1;
        let alternatives = self.alternatives(schema);
        let Some(fitting) = alternatives.iter().find(|one| is_of_type(value, one)) else {
            self.faults
                .insert(format!("{at}: {value} is none of {alternatives:?}"));
            return;
        };
        let fitting = *fitting;
        match value {
            Value::Array(items) => {
                for (index, item) in items.iter().enumerate() {
                    let own = fitting["prefixItems"]
                        .get(index)
                        .unwrap_or(&fitting["items"]);
                    self.visit(&format!("{at}[]"), item, own);
                }
            }
            Value::Object(map) => {
                for (key, item) in map {
                    let own = [
                        &fitting["properties"][key],
                        &fitting["additionalProperties"],
                    ];
                    match own.into_iter().find(|own| own.is_object()) {
                        Some(own) => self.visit(&format!("{at}.{key}"), item, own),
                        None => drop(
                            self.faults
                                .insert(format!("{at}.{key} is not in the schema")),
                        ),
                    }
                }
                let required = fitting["required"].as_array().into_iter().flatten();
                for key in required.filter_map(Value::as_str) {
                    if !map.contains_key(key) {
                        self.faults
                            .insert(format!("{at}.{key} is required and missing"));
                    }
                }
            }
            _ => {}
        }
    }
}

fn is_of_type(value: &Value, schema: &Value) -> bool {
    let kind = match value {
        Value::Null => "null",
        Value::Bool(_) => "boolean",
        Value::Number(number) if number.is_f64() => "number",
        Value::Number(_) => "integer",
        Value::String(_) => "string",
        Value::Array(_) => "array",
        Value::Object(_) => "object",
    };
    let allowed = |name: &str| name == kind || (name == "number" && kind == "integer");
    let by_type = match &schema["type"] {
        Value::String(name) => allowed(name),
        Value::Array(names) => names.iter().filter_map(Value::as_str).any(allowed),
        _ => schema["enum"].is_array() || !schema["const"].is_null(),
    };
    let by_value = schema["enum"]
        .as_array()
        .is_none_or(|all| all.contains(value));
    by_type && by_value && (schema["const"].is_null() || &schema["const"] == value)
}

#[test]
fn every_value_of_every_result_is_in_its_schema() {
    for (name, line) in RESULTS {
        let schema = schema(name);
        let result = sample_json(line);
        let mut walk = Walk {
            root: &schema,
            faults: BTreeSet::new(),
            values: 0,
        };
        walk.visit(name, &result, &schema);
        assert!(walk.faults.is_empty(), "{:#?}", walk.faults);
        assert!(walk.values > 10, "{name}: {} values", walk.values);
    }
}

/// A result that is tampered with does not pass, so that the walk can fail at all.
#[test]
fn a_key_too_many_one_too_few_and_a_wrong_type_are_noticed() {
    let schema = schema("bill");
    let sound = sample_json("energy sample-data/ferry-lane --bill");
    let faults = |result: &Value| {
        let mut walk = Walk {
            root: &schema,
            faults: BTreeSet::new(),
            values: 0,
        };
        walk.visit("bill", result, &schema);
        walk.faults.into_iter().collect::<Vec<_>>().join("; ")
    };
    let mut more = sound.clone();
    more["months"][0]["phase_of_the_moon"] = 0.5.into();
    assert!(faults(&more).contains("phase_of_the_moon is not in the schema"));
    let mut fewer = sound.clone();
    fewer.as_object_mut().expect("an object").remove("total");
    assert!(faults(&fewer).contains("total is required"));
    let mut wrong = sound;
    wrong["total"] = "a lot".into();
    assert!(faults(&wrong).contains("bill.total"));
}

#[test]
fn every_schema_is_listed_with_its_command_and_describes_its_figures() {
    let list = finished(command().arg("schema")).out;
    for (name, _) in RESULTS {
        assert!(list.lines().any(|line| line.starts_with(name)), "{name}");
        let schema = schema(name);
        assert_eq!(
            schema["$schema"],
            "https://json-schema.org/draft/2020-12/schema"
        );
        assert!(schema["description"].is_string(), "{name} says what it is");
        let properties = schema["properties"].as_object().expect("keys");
        for (key, property) in properties {
            assert!(
                property["description"].is_string(),
                "{name}.{key} says what it is"
            );
        }
    }
    assert_eq!(list.lines().count(), RESULTS.len());
    let wrong = finished(command().args(["schema", "ballance"]));
    assert_eq!(wrong.status, 2);
    assert!(
        wrong.err.contains("did you mean `balance`"),
        "{}",
        wrong.err
    );
}
