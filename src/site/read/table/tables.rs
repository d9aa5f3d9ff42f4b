//! Tables in a table.

use toml::Spanned;
use toml::de::DeValue;

use super::SiteTable;
use declaration::Declared;
use message::Message;

impl<'s, 't> SiteTable<'s, 't> {
    pub(crate) fn table(&self, key: &'static str) -> Option<SiteTable<'s, 't>> {
        let value = self.get(key)?;
        self.as_table(key, value, self.below(key))
    }

    /// What is declared of the tables below a key.
    pub(crate) fn below(&self, key: &'static str) -> &'static Declared {
        let declared = self.key(key).kind.declared();
        declared.expect("a key that is read as a table is declared as one")
    }

    pub(crate) fn as_table(
        &self,
        key: &str,
        value: &'s Spanned<DeValue<'t>>,
        declared: &'static Declared,
    ) -> Option<SiteTable<'s, 't>> {
        if let DeValue::Table(table) = value.get_ref() {
            let title = if self.title.is_empty() {
                format!("[{key}]")
            } else {
                format!("{key} of {}", self.title)
            };
            Some(SiteTable::new(
                self.source,
                table,
                value.span(),
                title,
                declared,
            ))
        } else {
            self.wrong_type(key, &value.span(), "a table", value.get_ref());
            None
        }
    }

    /// The value as written, a text or a table (for keys that may be either).
    pub(crate) fn either(&self, key: &'static str) -> Option<&'s Spanned<DeValue<'t>>> {
        self.get(key)
    }

    /// One table, or a list of them.
    pub(crate) fn table_or_tables(&self, key: &'static str) -> Vec<SiteTable<'s, 't>> {
        match self.get(key).map(Spanned::get_ref) {
            Some(DeValue::Array(_)) => self.tables(key),
            _ => self.table(key).into_iter().collect(),
        }
    }

    pub(crate) fn tables(&self, key: &'static str) -> Vec<SiteTable<'s, 't>> {
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
                DeValue::Table(table) => Some(SiteTable::new(
                    self.source,
                    table,
                    item.span(),
                    if self.title.is_empty() {
                        format!("[[{key}]]")
                    } else {
                        format!("{key} of {}", self.title)
                    },
                    self.below(key),
                )),
                other => {
                    self.wrong_type(key, &item.span(), "a table", other);
                    None
                }
            })
            .collect()
    }
}
