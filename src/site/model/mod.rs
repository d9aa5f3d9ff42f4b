//! The installation as declared: plain types that know no file.

pub(crate) mod accepted;
pub(crate) mod accuracy;
pub(crate) mod carbon;
pub(crate) mod connection;
pub(crate) mod declared_numbers;
pub(crate) mod device;
pub(crate) mod device_words;
pub(crate) mod machine;
pub(crate) mod meter;
pub(crate) mod node;
pub(crate) mod quantity;
pub(crate) mod quantity_meaning;
pub(crate) mod schedule;
pub(crate) mod site;
pub(crate) mod site_tariffs;
pub(crate) mod thresholds;
pub(crate) mod variable;
pub(crate) mod walk;
pub(crate) mod work;
