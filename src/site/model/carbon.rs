//! A file of the user's own carbon factors, where one for all time is not enough.

use message::Place;

/// Where the user's carbon factors stand.
#[derive(Clone, Debug, PartialEq)]
pub struct CarbonFile {
    /// The file, inside the site folder.
    pub file: String,
    /// The column of the times from which each factor holds.
    pub time: String,
    /// The column of the factors. (g/kWh)
    pub column: String,
    /// Where the file is named, for messages.
    pub at: Place,
}
