//! A table of a TOML file, read key by key; every fault becomes a message at its place.

use std::cell::RefCell;
use std::ops::{Range, RangeInclusive};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::message::{Message, Messages, Place, closest, did_you_mean};

/// The file being read and the messages about it.
#[derive(Debug)]
pub(super) struct Source<'t> {
    pub(super) file: String,
    pub(super) text: &'t str,
    messages: RefCell<Messages>,
}

/// A value together with its place.
#[derive(Clone, Debug)]
pub(super) struct Located<T> {
    pub(super) value: T,
    pub(super) span: Range<usize>,
}

impl<'t> Source<'t> {
    pub(super) fn new(file: &str, text: &'t str) -> Self {
        Source {
            file: file.to_owned(),
            text,
            messages: RefCell::default(),
        }
    }

    pub(super) fn push(&self, message: Message) {
        self.messages.borrow_mut().push(message);
    }

    pub(super) fn place(&self, span: &Range<usize>) -> Place {
        Place::in_text(self.file.clone(), self.text, span.clone())
    }

    pub(super) fn into_messages(self) -> Messages {
        self.messages.into_inner()
    }
}

/// One table and the keys asked for so far.
#[derive(Debug)]
pub(super) struct Table<'s, 't> {
    pub(super) source: &'s Source<'t>,
    pub(super) entries: &'s DeTable<'t>,
    pub(super) span: Range<usize>,
    /// As shown in messages: `[supply]`, `[[board]]`.
    pub(super) title: String,
    asked: RefCell<Vec<&'static str>>,
    missed: RefCell<Vec<(&'static str, String)>>,
}

impl<'s, 't> Table<'s, 't> {
    pub(super) fn new(
        source: &'s Source<'t>,
        entries: &'s DeTable<'t>,
        span: Range<usize>,
        title: impl Into<String>,
    ) -> Self {
        Table {
            source,
            entries,
            span,
            title: title.into(),
            asked: RefCell::default(),
            missed: RefCell::default(),
        }
    }

    pub(super) fn get(&self, key: &'static str) -> Option<&'s Spanned<DeValue<'t>>> {
        self.asked.borrow_mut().push(key);
        self.entries.get(key)
    }

    /// Keys of the table with their places, in file order.
    pub(super) fn keys(&self) -> Vec<Located<String>> {
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
    pub(super) fn value(&self, key: &str) -> Option<&'s Spanned<DeValue<'t>>> {
        self.entries.get(key)
    }

    /// Complains about every key that was never asked for, and about those missed.
    pub(super) fn finish(&self) {
        let asked = self.asked.borrow();
        let mut meant = Vec::new();
        for key in self.keys() {
            if !asked.contains(&key.value.as_str()) {
                meant.extend(closest(&key.value, asked.iter().copied()));
                self.source.push(
                    Message::error(
                        "unknown-key",
                        format!("unknown key `{}` in `{}`", key.value, self.title),
                    )
                    .at(self.source.place(&key.span), "not a known key")
                    .maybe_help(
                        did_you_mean(&key.value, asked.iter().copied())
                            .or_else(|| Some(format!("known keys: {}", asked.join(", ")))),
                    ),
                );
            }
        }
        for (key, example) in self.missed.borrow().iter() {
            // A misspelt key is one fault, not two.
            if !meant.contains(key) {
                self.complain_of_missing(key, example);
            }
        }
    }

    pub(super) fn wrong_type(
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
            ),
        );
    }

    /// Remembers that a key is missing.
    pub(super) fn missing(&self, key: &'static str, example: &str) {
        self.missed.borrow_mut().push((key, example.to_owned()));
    }

    fn complain_of_missing(&self, key: &str, example: &str) {
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

    pub(super) fn text(&self, key: &'static str) -> Option<Located<String>> {
        let value = self.get(key)?;
        if let DeValue::String(text) = value.get_ref() {
            Some(Located {
                value: text.to_string(),
                span: value.span(),
            })
        } else {
            self.wrong_type(key, &value.span(), "a text in quotes", value.get_ref());
            None
        }
    }

    /// A text; a bare whole number is understood too.
    pub(super) fn text_or_number(&self, key: &'static str) -> Option<Located<String>> {
        let value = self.get(key)?;
        let DeValue::Integer(number) = value.get_ref() else {
            return self.text(key);
        };
        Some(Located {
            value: number.to_string(),
            span: value.span(),
        })
    }

    pub(super) fn required_text(
        &self,
        key: &'static str,
        example: &str,
    ) -> Option<Located<String>> {
        if self.entries.get(key).is_none() {
            self.get(key);
            self.missing(key, &format!("\"{example}\""));
            return None;
        }
        let text = self.text(key)?;
        if text.value.trim().is_empty() {
            self.source.push(
                Message::error(
                    "empty-text",
                    format!("`{key}` in `{}` is empty", self.title),
                )
                .at(self.source.place(&text.span), "expected a text"),
            );
            return None;
        }
        Some(text)
    }

    /// One of a few words; anything else is a message.
    pub(super) fn word<T: Copy>(&self, key: &'static str, words: &[(&str, T)]) -> Option<T> {
        let text = self.text(key)?;
        let found = words.iter().find(|(word, _)| *word == text.value);
        if let Some((_, value)) = found {
            return Some(*value);
        }
        let list: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        self.source.push(
            Message::error(
                "unknown-word",
                format!("`{key}` in `{}` cannot be `{}`", self.title, text.value),
            )
            .at(
                self.source.place(&text.span),
                format!("expected one of {}", list.join(", ")),
            )
            .maybe_help(did_you_mean(&text.value, list)),
        );
        None
    }

    pub(super) fn number(
        &self,
        key: &'static str,
        range: RangeInclusive<f64>,
        unit: &str,
    ) -> Option<f64> {
        let value = self.get(key)?;
        number_in(self, key, value, range, unit)
    }

    pub(super) fn required_number(
        &self,
        key: &'static str,
        range: RangeInclusive<f64>,
        unit: &str,
        example: &str,
    ) -> Option<f64> {
        if self.entries.get(key).is_none() {
            self.get(key);
            self.missing(key, example);
            return None;
        }
        self.number(key, range, unit)
    }

    pub(super) fn whole(
        &self,
        key: &'static str,
        range: RangeInclusive<u32>,
    ) -> Option<Located<u32>> {
        let value = self.get(key)?;
        let number = match value.get_ref() {
            DeValue::Integer(integer) => {
                u32::from_str_radix(integer.as_str(), integer.radix()).ok()
            }
            _ => None,
        };
        if let Some(number) = number.filter(|number| range.contains(number)) {
            return Some(Located {
                value: number,
                span: value.span(),
            });
        }
        let expected = format!("a whole number from {} to {}", range.start(), range.end());
        self.wrong_type(key, &value.span(), &expected, value.get_ref());
        None
    }

    pub(super) fn flag(&self, key: &'static str) -> Option<bool> {
        let value = self.get(key)?;
        if let DeValue::Boolean(flag) = value.get_ref() {
            Some(*flag)
        } else {
            self.wrong_type(key, &value.span(), "true or false", value.get_ref());
            None
        }
    }

    pub(super) fn texts(&self, key: &'static str) -> Vec<Located<String>> {
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let DeValue::Array(array) = value.get_ref() else {
            self.wrong_type(key, &value.span(), "a list of texts", value.get_ref());
            return Vec::new();
        };
        let mut texts = Vec::new();
        for item in array {
            if let DeValue::String(text) = item.get_ref() {
                texts.push(Located {
                    value: text.to_string(),
                    span: item.span(),
                });
            } else {
                self.wrong_type(key, &item.span(), "a text in quotes", item.get_ref());
            }
        }
        texts
    }

    pub(super) fn whole_triple(&self, key: &'static str) -> Option<[u32; 3]> {
        let value = self.get(key)?;
        let numbers: Option<Vec<u32>> = match value.get_ref() {
            DeValue::Array(array) => array
                .iter()
                .map(|item| match item.get_ref() {
                    DeValue::Integer(integer) => integer.as_str().parse().ok(),
                    _ => None,
                })
                .collect(),
            _ => None,
        };
        if let Some(triple) = numbers.and_then(|numbers| <[u32; 3]>::try_from(numbers).ok()) {
            Some(triple)
        } else {
            self.wrong_type(
                key,
                &value.span(),
                "three whole numbers, for L1, L2 and L3",
                value.get_ref(),
            );
            None
        }
    }

    pub(super) fn table(&self, key: &'static str) -> Option<Table<'s, 't>> {
        let value = self.get(key)?;
        self.as_table(key, value)
    }

    pub(super) fn as_table(
        &self,
        key: &str,
        value: &'s Spanned<DeValue<'t>>,
    ) -> Option<Table<'s, 't>> {
        if let DeValue::Table(table) = value.get_ref() {
            let title = if self.title.is_empty() {
                format!("[{key}]")
            } else {
                format!("{key} of {}", self.title)
            };
            Some(Table::new(self.source, table, value.span(), title))
        } else {
            self.wrong_type(key, &value.span(), "a table", value.get_ref());
            None
        }
    }

    /// The value as written, a text or a table (for keys that may be either).
    pub(super) fn either(&self, key: &'static str) -> Option<&'s Spanned<DeValue<'t>>> {
        self.get(key)
    }

    pub(super) fn tables(&self, key: &'static str) -> Vec<Table<'s, 't>> {
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let DeValue::Array(array) = value.get_ref() else {
            self.source.push(
                Message::error("wrong-type", format!("`{key}` must be written `[[{key}]]`"))
                    .at(self.source.place(&value.span()), "a single table here")
                    .help(format!("write `[[{key}]]`, once for each")),
            );
            return Vec::new();
        };
        array
            .iter()
            .filter_map(|item| match item.get_ref() {
                DeValue::Table(table) => Some(Table::new(
                    self.source,
                    table,
                    item.span(),
                    if self.title.is_empty() {
                        format!("[[{key}]]")
                    } else {
                        format!("{key} of {}", self.title)
                    },
                )),
                other => {
                    self.wrong_type(key, &item.span(), "a table", other);
                    None
                }
            })
            .collect()
    }
}

/// Reads a number and checks its range.
pub(super) fn number_in(
    table: &Table<'_, '_>,
    key: &str,
    value: &Spanned<DeValue<'_>>,
    range: RangeInclusive<f64>,
    unit: &str,
) -> Option<f64> {
    let number: Option<f64> = match value.get_ref() {
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .ok()
            .map(|whole| whole as f64),
        DeValue::Float(float) => float.as_str().replace('_', "").parse().ok(),
        _ => None,
    };
    let Some(number) = number.filter(|number| number.is_finite()) else {
        let expected = format!("a number{}", in_unit(unit));
        table.wrong_type(key, &value.span(), &expected, value.get_ref());
        return None;
    };
    if range.contains(&number) {
        return Some(number);
    }
    table.source.push(
        Message::error(
            "out-of-range",
            format!("`{key}` in `{}` is out of range", table.title),
        )
        .at(
            table.source.place(&value.span()),
            format!("expected {}, found {number}", range_text(&range, unit)),
        ),
    );
    None
}

fn in_unit(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(" in {unit}")
    }
}

/// `0 to 1`, `more than 0 A`, …
pub(super) fn range_text(range: &RangeInclusive<f64>, unit: &str) -> String {
    let (low, high) = (*range.start(), *range.end());
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    let low_text = if low > 0.0 && low <= f64::MIN_POSITIVE {
        "more than 0".to_owned()
    } else {
        format!("at least {low}")
    };
    if high >= f64::MAX {
        format!("{low_text}{unit}")
    } else {
        format!("{low_text} and at most {high}{unit}")
    }
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
