//! A table of a TOML file, read key by key; every fault becomes a message at its place.

#[cfg(test)]
pub(crate) mod asked;
mod number;
mod source;
mod tables;
mod values;

use std::cell::RefCell;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

pub(crate) use number::{number_in, number_range};
pub(crate) use source::{Located, Source};

use declaration::{Declared, Key};
use message::{Message, closest, decimal_point, did_you_mean};

/// One table and the keys asked for so far.
#[derive(Debug)]
pub(crate) struct SiteTable<'s, 't> {
    pub(crate) source: &'s Source<'t>,
    pub(crate) entries: &'s DeTable<'t>,
    pub(crate) span: Range<usize>,
    /// As shown in messages: `[supply]`, `[[board]]`.
    pub(crate) title: String,
    declared: &'static Declared,
    #[cfg(test)]
    asked: RefCell<Vec<&'static str>>,
    missed: RefCell<Vec<&'static Key>>,
}

impl<'s, 't> SiteTable<'s, 't> {
    pub(crate) fn new(
        source: &'s Source<'t>,
        entries: &'s DeTable<'t>,
        span: Range<usize>,
        title: impl Into<String>,
        declared: &'static Declared,
    ) -> Self {
        SiteTable {
            source,
            entries,
            span,
            title: title.into(),
            declared,
            #[cfg(test)]
            asked: RefCell::default(),
            missed: RefCell::default(),
        }
    }

    pub(crate) fn get(&self, key: &'static str) -> Option<&'s Spanned<DeValue<'t>>> {
        self.key(key);
        self.entries.get(key)
    }

    /// What is declared of a key that is read.
    pub(crate) fn key(&self, name: &'static str) -> &'static Key {
        #[cfg(test)]
        self.asked.borrow_mut().push(name);
        self.declared
            .find(name)
            .expect("every key that is read is declared")
    }

    /// Names of the keys that the table may have.
    pub(crate) fn known(&self) -> impl Iterator<Item = &'static str> + Clone + use<> {
        self.declared.names()
    }

    /// Keys of the table with their places, in file order.
    pub(crate) fn keys(&self) -> Vec<Located<String>> {
        let mut keys: Vec<Located<String>> = self
            .entries
            .iter()
            .map(|(key, _)| Located {
                value: key.get_ref().to_string(),
                span: key.span(),
            })
            .collect();
        keys.sort_by_key(|key| key.span.start);
        keys
    }

    /// A value by a key that is not known beforehand (such as a quantity's name).
    pub(crate) fn value(&self, key: &str) -> Option<&'s Spanned<DeValue<'t>>> {
        self.entries.get(key)
    }

    /// Complains about every key that is not declared, and about those missed.
    pub(crate) fn finish(&self) {
        #[cfg(test)]
        asked::note(&self.title, self.declared, &self.asked.borrow());
        let mut meant = Vec::new();
        for key in self.keys() {
            if self.declared.find(&key.value).is_none() {
                meant.extend(closest(&key.value, self.known()));
                self.source.push(
                    Message::error(
                        "unknown-key",
                        format!("unknown key `{}` in `{}`", key.value, self.title),
                    )
                    .at(self.source.place(&key.span), "not a known key")
                    .maybe_help(
                        did_you_mean(&key.value, self.known()).or_else(|| {
                            let known: Vec<&str> = self.known().collect();
                            Some(format!("known keys: {}", known.join(", ")))
                        }),
                    ),
                );
            }
        }
        for key in self.missed.borrow().iter() {
            // A misspelt key is one fault, not two.
            if !meant.contains(&key.name) {
                self.complain_of_missing(key);
            }
        }
    }

    pub(crate) fn wrong_type(
        &self,
        key: &str,
        span: &Range<usize>,
        expected: &str,
        found: &DeValue<'_>,
    ) {
        self.source.push(
            Message::error(
                "wrong-type",
                format!("`{key}` in `{}` must be {expected}", self.title),
            )
            .at(
                self.source.place(span),
                format!("expected {expected}, found {}", kind_of(found)),
            )
            .maybe_help(as_number(expected, found)),
        );
    }

    /// Remembers that a key is missing.
    pub(crate) fn missing(&self, key: &'static str) {
        self.missed.borrow_mut().push(self.key(key));
    }

    fn complain_of_missing(&self, key: &Key) {
        let (key, example) = (key.name, key.example);
        self.source.push(
            Message::error(
                "missing-key",
                format!("`{}` needs the key `{key}`", self.title),
            )
            .at(
                self.source.place(&self.span),
                format!("`{key}` is missing here"),
            )
            .help(format!("add `{key} = {example}`")),
        );
    }
}

/// Help for a number that is written as a text.
fn as_number(expected: &str, found: &DeValue<'_>) -> Option<String> {
    let DeValue::String(text) = found else {
        return None;
    };
    let text = text.trim();
    let is_number = expected.contains("number");
    if let Some(help) = decimal_point(text).filter(|_| is_number) {
        return Some(format!("{help}, without quotation marks"));
    }
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.');
    let number = &text[..end.unwrap_or(text.len())];
    let help = format!("write the number alone: `{number}`");
    (is_number && number.parse::<f64>().is_ok()).then_some(help)
}

fn kind_of(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text `{text}`"),
        DeValue::Integer(number) => format!("the number {number}"),
        DeValue::Float(number) => format!("the number {number}"),
        DeValue::Boolean(flag) => format!("`{flag}`"),
        DeValue::Datetime(_) => "a date or time".to_owned(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}
