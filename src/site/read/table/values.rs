//! Texts, numbers, words and flags of a table.

use toml::de::DeValue;

use super::{Located, SiteTable, number_in};
use declaration::ValueKind;
use message::{Message, did_you_mean};

impl SiteTable<'_, '_> {
    pub(crate) fn text(&self, key: &'static str) -> Option<Located<String>> {
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
    pub(crate) fn text_or_number(&self, key: &'static str) -> Option<Located<String>> {
        let value = self.get(key)?;
        let DeValue::Integer(number) = value.get_ref() else {
            return self.text(key);
        };
        Some(Located {
            value: number.to_string(),
            span: value.span(),
        })
    }

    pub(crate) fn required_text(&self, key: &'static str) -> Option<Located<String>> {
        if self.get(key).is_none() {
            self.missing(key);
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
    pub(crate) fn word<T: Copy>(&self, key: &'static str, words: &[(&str, T)]) -> Option<T> {
        let text = self.text(key)?;
        debug_assert!(
            matches!(self.key(key).kind, ValueKind::Word(declared) if declared.iter().eq(words.iter().map(|(word, _)| word))),
            "the words of `{key}` are as declared"
        );
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

    pub(crate) fn number(&self, key: &'static str) -> Option<f64> {
        let value = self.get(key)?;
        number_in(self, self.key(key), value)
    }

    pub(crate) fn required_number(&self, key: &'static str) -> Option<f64> {
        if self.get(key).is_none() {
            self.missing(key);
            return None;
        }
        self.number(key)
    }

    pub(crate) fn whole(&self, key: &'static str) -> Option<Located<u32>> {
        let value = self.get(key)?;
        let range = match self.key(key).kind {
            ValueKind::Whole(low, high) => low..=high,
            ValueKind::OneOf([low, .., high]) => *low..=*high,
            other => unreachable!("`{key}` is read as a whole number, but declared as {other}"),
        };
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

    pub(crate) fn flag(&self, key: &'static str) -> Option<bool> {
        let value = self.get(key)?;
        if let DeValue::Boolean(flag) = value.get_ref() {
            Some(*flag)
        } else {
            self.wrong_type(key, &value.span(), "true or false", value.get_ref());
            None
        }
    }

    pub(crate) fn texts(&self, key: &'static str) -> Vec<Located<String>> {
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

    pub(crate) fn whole_triple(&self, key: &'static str) -> Option<[u32; 3]> {
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
}
