//! The bytes of a text log as UTF-8, however the file is packed and written. Streamed: neither a
//! packed file nor one in another encoding is held as a whole.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use encoding_rs_io::DecodeReaderBytesBuilder;
use flate2::read::MultiGzDecoder;

use crate::progress::Progress;

/// How much of the beginning is looked at to learn how the log is written.
pub(crate) const SAMPLE_BYTES: usize = 256 << 10;
/// Of a log of very long lines more is looked at, until there are so many.
const FEWEST_LINES: usize = 8;
const LARGEST_SAMPLE: usize = 4 << 20;
/// How much of that shows whether the file is a text at all.
const KIND_BYTES: usize = 4 << 10;
/// How many bytes are searched for the zeros that identify UTF-16.
const ZEROS_BYTES: usize = 4 << 10;

/// How the characters of a log are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without a byte order mark.
    Utf8,
    /// UTF-16, the low byte first.
    Utf16Little,
    /// UTF-16, the high byte first.
    Utf16Big,
    /// Not UTF-8: taken for Windows-1252, of which the printable part of Latin-1 is a subset.
    Windows1252,
}

impl Encoding {
    /// Name in results.
    pub const fn name(self) -> &'static str {
        match self {
            Encoding::Utf8 => "UTF-8",
            Encoding::Utf16Little => "UTF-16 LE",
            Encoding::Utf16Big => "UTF-16 BE",
            Encoding::Windows1252 => "Windows-1252",
        }
    }

    /// By the byte order mark, else by what the beginning looks like.
    fn of(sample: &[u8]) -> Encoding {
        match sample {
            [0xef, 0xbb, 0xbf, ..] => return Encoding::Utf8,
            [0xff, 0xfe, ..] => return Encoding::Utf16Little,
            [0xfe, 0xff, ..] => return Encoding::Utf16Big,
            _ => {}
        }
        let (pairs, _) = sample[..sample.len().min(ZEROS_BYTES)].as_chunks::<2>();
        let high = pairs.iter().filter(|pair| pair[0] == 0).count();
        let low = pairs.iter().filter(|pair| pair[1] == 0).count();
        // Digits and separators leave every other byte zero.
        if 2 * low > pairs.len() && high == 0 {
            Encoding::Utf16Little
        } else if 2 * high > pairs.len() && low == 0 {
            Encoding::Utf16Big
        } else if foreign(sample) {
            Encoding::Windows1252
        } else {
            Encoding::Utf8
        }
    }
}

/// Are there more bytes that UTF-8 does not have than characters that only it has? One damaged byte
/// does not make another encoding. The sample may end within a character.
fn foreign(sample: &[u8]) -> bool {
    let (mut wide, mut wrong) = (0, 0);
    let mut chunks = sample.utf8_chunks().peekable();
    while let Some(chunk) = chunks.next() {
        wide += chunk.valid().chars().filter(|c| !c.is_ascii()).count();
        let cut = chunks.peek().is_none() && sample.len() >= SAMPLE_BYTES;
        wrong += usize::from(!chunk.invalid().is_empty() && !cut);
    }
    wrong > wide
}

/// What a text log is read from.
#[derive(Clone, Copy, Debug)]
pub(crate) enum TextInput<'i> {
    /// A file.
    File(&'i Path),
    /// A file inside another, or a table that was written once more.
    Memory(&'i [u8]),
}

/// An open text log.
pub(crate) struct TextSource<'p> {
    /// The beginning, unpacked and in UTF-8.
    pub(crate) sample: Vec<u8>,
    /// What follows.
    pub(crate) rest: Box<dyn Read + Send + 'p>,
    pub(crate) encoding: Encoding,
    /// The first bytes, unpacked but in the file's own encoding.
    pub(crate) first_bytes: Vec<u8>,
    /// Packed with gzip?
    pub(crate) packed: bool,
}

impl<'p> TextSource<'p> {
    /// Opens a log.
    ///
    /// # Errors
    ///
    /// What stands in the way of reading its beginning, and whether the file is packed.
    pub(crate) fn open(
        input: TextInput<'p>,
        progress: &'p dyn Progress,
    ) -> Result<TextSource<'p>, (io::Error, bool)> {
        let unpacked = |error| (error, false);
        let input: Box<dyn Read + Send + 'p> = match input {
            TextInput::File(path) => Box::new(File::open(path).map_err(unpacked)?),
            TextInput::Memory(bytes) => Box::new(bytes),
        };
        let mut file = Watched { input, progress };
        let mut magic = Vec::new();
        (&mut file)
            .take(2)
            .read_to_end(&mut magic)
            .map_err(unpacked)?;
        let packed = magic == [0x1f, 0x8b];
        let whole = io::Cursor::new(magic).chain(file);
        let mut bytes: Box<dyn Read + Send + 'p> = if packed {
            Box::new(MultiGzDecoder::new(io::BufReader::with_capacity(
                64 << 10,
                whole,
            )))
        } else {
            Box::new(whole)
        };
        let begins = |reader: &mut (dyn Read + Send + 'p)| {
            let mut sample = Vec::with_capacity(SAMPLE_BYTES);
            loop {
                let piece = (&mut *reader)
                    .take(SAMPLE_BYTES as u64)
                    .read_to_end(&mut sample);
                let got = piece.map_err(|error| (error, packed))?;
                let enough = memchr::memchr_iter(b'\n', &sample)
                    .nth(FEWEST_LINES)
                    .is_some();
                if enough || got < SAMPLE_BYTES || sample.len() >= LARGEST_SAMPLE {
                    return Ok(sample);
                }
            }
        };
        let mut sample = begins(&mut *bytes)?;
        let encoding = Encoding::of(&sample);
        let first_bytes = sample[..sample.len().min(KIND_BYTES)].to_vec();
        let declared = match encoding {
            Encoding::Utf8 => {
                if sample.starts_with(b"\xef\xbb\xbf") {
                    sample.drain(..3);
                }
                return Ok(TextSource {
                    sample,
                    rest: bytes,
                    encoding,
                    first_bytes,
                    packed,
                });
            }
            Encoding::Utf16Little => UTF_16LE,
            Encoding::Utf16Big => UTF_16BE,
            Encoding::Windows1252 => WINDOWS_1252,
        };
        let mut decoded = DecodeReaderBytesBuilder::new()
            .encoding(Some(declared))
            .strip_bom(true)
            .build(io::Cursor::new(sample).chain(bytes));
        let sample = begins(&mut decoded)?;
        Ok(TextSource {
            sample,
            rest: Box::new(decoded),
            encoding,
            first_bytes,
            packed,
        })
    }
}

/// Why a packed file cannot be unpacked.
pub(crate) fn why_not_unpacked(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::UnexpectedEof => "it ends early".to_owned(),
        _ => error.to_string(),
    }
}

/// Tells how much of a file has been read.
struct Watched<'p> {
    input: Box<dyn Read + Send + 'p>,
    progress: &'p dyn Progress,
}

impl Read for Watched<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let got = self.input.read(buffer)?;
        self.progress.advance(got as u64);
        Ok(got)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::progress::Unwatched;
    use proptest::prelude::*;

    fn read(bytes: &[u8]) -> (Encoding, String) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("log.csv");
        std::fs::write(&path, bytes).expect("a file");
        let Ok(mut source) = TextSource::open(TextInput::File(&path), &Unwatched) else {
            panic!("the file is sound");
        };
        let mut text = source.sample;
        source.rest.read_to_end(&mut text).expect("a sound file");
        (
            source.encoding,
            String::from_utf8(text).expect("all is UTF-8"),
        )
    }

    /// 300 000 characters: more than is looked at first, with one of two, three and four bytes.
    fn long() -> String {
        "30 °C; 5 €; 𝛗\n".repeat(25_000)
    }

    #[test]
    fn every_encoding_gives_the_same_text() {
        let text = long();
        let little: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let with = |mark: &[u8], bytes: &[u8]| [mark, bytes].concat();
        assert_eq!(read(text.as_bytes()), (Encoding::Utf8, text.clone()));
        let marked = with(b"\xef\xbb\xbf", text.as_bytes());
        assert_eq!(read(&marked), (Encoding::Utf8, text.clone()));
        let marked = with(b"\xff\xfe", &little);
        assert_eq!(read(&marked), (Encoding::Utf16Little, text.clone()));
        let marked = with(b"\xfe\xff", &big);
        assert_eq!(read(&marked), (Encoding::Utf16Big, text.clone()));
        let plain = "time;P\n2026-03-09 10:00;5\n";
        let bare: Vec<u8> = plain.encode_utf16().flat_map(u16::to_le_bytes).collect();
        assert_eq!(read(&bare), (Encoding::Utf16Little, plain.to_owned()));
        let bare: Vec<u8> = plain.encode_utf16().flat_map(u16::to_be_bytes).collect();
        assert_eq!(read(&bare), (Encoding::Utf16Big, plain.to_owned()));
    }

    proptest! {
        /// Whatever is written, in any encoding and packed in any pieces, is read as it is.
        #[test]
        fn any_text_is_read_as_it_was_written(
            lines in prop::collection::vec("[0-9 .,;A-Za-z\"°µλ€ü\u{1d6d7}-]{0,30}", 1..40),
            big: bool,
            packed: bool,
            cuts in prop::collection::vec(0_usize..3000, 0..4),
        ) {
            let text = format!("time;P\n{}\n", lines.join("\n"));
            let wide: Vec<u8> = format!("\u{feff}{text}")
                .encode_utf16()
                .flat_map(if big { u16::to_be_bytes } else { u16::to_le_bytes })
                .collect();
            for bytes in [text.as_bytes(), &wide] {
                let mut cuts: Vec<usize> = cuts.iter().map(|cut| cut % bytes.len()).collect();
                cuts.extend([0, bytes.len()]);
                cuts.sort_unstable();
                let members = cuts.windows(2).map(|cut| pack(&bytes[cut[0]..cut[1]]));
                let file = if packed { members.collect::<Vec<_>>().concat() } else { bytes.to_vec() };
                prop_assert_eq!(&read(&file).1, &text);
            }
        }
    }

    fn pack(bytes: &[u8]) -> Vec<u8> {
        let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        io::Write::write_all(&mut packer, bytes).expect("memory");
        packer.finish().expect("memory")
    }

    /// 0xB0 is the degree sign in Latin-1 and in Windows-1252, 0x80 the euro sign in the latter only.
    #[test]
    fn what_is_not_utf_8_is_windows_1252() {
        assert_eq!(
            read(b"30 \xb0C; 5 \x80\n"),
            (Encoding::Windows1252, "30 °C; 5 €\n".to_owned())
        );
        assert_eq!(Encoding::of("°°\u{20ac}".as_bytes()), Encoding::Utf8);
        assert_eq!(Encoding::of(b"\xc2\xb0 \xff \xc2\xb0"), Encoding::Utf8);
        assert_eq!(Encoding::of(b""), Encoding::Utf8);
    }
}
