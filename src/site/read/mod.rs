//! From the files of a site folder to the model: every fault a message at its place.

pub(crate) mod accepted;
pub(crate) mod bounds;
pub(crate) mod carbon;
pub(crate) mod date;
pub(crate) mod decimals;
pub(crate) mod file;
pub(crate) mod kept_together;
pub(crate) mod list;
pub(crate) mod machine_list;
pub(crate) mod meters;
pub(crate) mod new_machines;
pub(crate) mod phase_words;
pub(crate) mod schedules;
pub(crate) mod site_folder;
pub(crate) mod supply;
pub(crate) mod table;
pub(crate) mod table_file;
pub(crate) mod tariff_bands;
pub(crate) mod tariffs;
pub(crate) mod thresholds;
pub(crate) mod toml_fault;
pub(crate) mod tree;
pub(crate) mod variables;
pub(crate) mod work;
pub(crate) mod workbook_site;
