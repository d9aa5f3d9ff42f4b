//! The bytes of a file that should be a text.

use message::{Message, Place, not_text};

/// The text without its byte order mark.
///
/// # Errors
///
/// A message that says what the file is instead, or which line is not UTF-8.
pub fn text_of(file: &str, bytes: Vec<u8>) -> Result<String, Box<Message>> {
    if let Some(message) = not_text(file, &bytes) {
        return Err(message.into());
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text.trim_start_matches('\u{feff}').to_owned()),
        Err(error) => {
            let valid = error.utf8_error().valid_up_to();
            let before = &error.as_bytes()[..valid];
            let line = before.split(|&byte| byte == b'\n').count();
            Err(
                Message::error("not-utf-8", format!("`{file}` is not UTF-8 text"))
                    .at(Place::file(format!("{file}:{line}")), "")
                    .help("save the file as UTF-8")
                    .into(),
            )
        }
    }
}
