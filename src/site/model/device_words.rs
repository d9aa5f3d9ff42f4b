//! Protective devices in the words of the trade: `32A Type B`, `RCBO C32 30mA`, `BS 88 32`, `fuse 63`.

use std::str::FromStr;

use super::device::{DeviceKind, ProtectiveDevice};
use electrical::neighbouring_ratings;

/// Numbers of standards, and the kind of device where it follows from the number.
const STANDARDS: [(&str, Option<DeviceKind>); 7] = [
    ("3036", Some(DeviceKind::SemiEnclosed)),
    ("88", Some(DeviceKind::Gg)),
    ("60269", Some(DeviceKind::Gg)),
    ("60898", None),
    ("61009", None),
    ("60364", None),
    ("7671", None),
];

/// Words that name a kind.
const KINDS: [(&str, DeviceKind); 11] = [
    ("gg", DeviceKind::Gg),
    ("gl", DeviceKind::Gg),
    ("hrc", DeviceKind::Gg),
    ("fuse", DeviceKind::Gg),
    ("fuses", DeviceKind::Gg),
    ("rewirable", DeviceKind::SemiEnclosed),
    ("rewireable", DeviceKind::SemiEnclosed),
    ("semi", DeviceKind::SemiEnclosed),
    ("b", DeviceKind::B),
    ("c", DeviceKind::C),
    ("d", DeviceKind::D),
];

/// Words that say nothing of kind and rating: poles, and what a device is called.
const WORDS: [&str; 27] = [
    "bs",
    "en",
    "iec",
    "type",
    "curve",
    "mcb",
    "rcbo",
    "cb",
    "breaker",
    "circuit",
    "miniature",
    "a",
    "amp",
    "amps",
    "cartridge",
    "enclosed",
    "sp",
    "dp",
    "tp",
    "fp",
    "spn",
    "tpn",
    "1p",
    "2p",
    "3p",
    "4p",
    "n",
];

/// Text that names no protective device.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{text}` is not a protective device: write its kind and rated current, such as `gG 32` or `C 16`"
)]
pub struct NotADevice {
    text: String,
    help: Option<String>,
}

impl NotADevice {
    fn new(text: &str, help: Option<String>) -> NotADevice {
        NotADevice {
            text: text.to_owned(),
            help,
        }
    }

    /// The device that is meant, as it is written here; `None` where the text names no rated current.
    #[must_use]
    pub fn suggestion(&self) -> Option<String> {
        self.help.clone()
    }
}

impl FromStr for ProtectiveDevice {
    type Err = NotADevice;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        read_device(text)
    }
}

/// What the words of a device say.
#[derive(Default)]
struct SaidOfDevice {
    kinds: Vec<DeviceKind>,
    /// Of the number of a standard or a word for fuses; a more exact word comes first.
    general: Option<DeviceKind>,
    ratings: Vec<f64>,
    is_residual: bool,
    unknown: bool,
}

/// Reads a device.
///
/// # Errors
///
/// What to write instead.
fn read_device(text: &str) -> Result<ProtectiveDevice, NotADevice> {
    let said = said_of(text);
    let wrong = |help: Option<String>| Err(NotADevice::new(text, help));
    let mut kinds = said.kinds.clone();
    kinds.dedup();
    let kind = match (&kinds[..], said.general) {
        ([kind], None | Some(DeviceKind::Gg)) => Some(*kind),
        ([], Some(general)) => Some(general),
        ([kind], Some(general)) if *kind == general => Some(general),
        _ => None,
    };
    let ([rated_a], false) = (&said.ratings[..], said.unknown) else {
        return wrong(suggestion(kind, &said.ratings));
    };
    let Some(kind) = kind else {
        return wrong(suggestion(None, &said.ratings));
    };
    // Type B of a residual-current device is about direct current, not about tripping.
    if said.is_residual && kind == DeviceKind::B && !is_joined(text, *rated_a) {
        return wrong(Some(format!(
            "type B of a residual-current device is another thing than type B of a circuit-breaker: write `B {rated_a}`, `C {rated_a}` or `D {rated_a}`"
        )));
    }
    let (below, above) = neighbouring_ratings(kind.overload_device(), *rated_a);
    let device = |rated_a: f64| ProtectiveDevice { kind, rated_a };
    if below == above && below.is_some() {
        return Ok(device(*rated_a));
    }
    let near: Vec<String> = [below, above]
        .into_iter()
        .flatten()
        .map(|rated_a| format!("`{}`", device(rated_a)))
        .collect();
    wrong(Some(format!(
        "{} A is no rated current of the standard: write {}",
        rated_a,
        near.join(" or ")
    )))
}

/// Is the type written before the rating, `B32` or `B 32`?
fn is_joined(text: &str, rated_a: f64) -> bool {
    let plain: String = text.to_lowercase().split_whitespace().collect();
    plain.contains(&format!("b{rated_a}"))
}

fn said_of(text: &str) -> SaidOfDevice {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| c.is_whitespace() || ",;()+&_".contains(c))
        .filter(|word| !word.is_empty())
        .collect();
    let mut said = SaidOfDevice::default();
    let mut before = "";
    for word in words {
        let number = word.trim_start_matches("bs").trim_start_matches("en");
        let number = number.split('-').next().unwrap_or_default();
        let standard = STANDARDS.iter().find(|(known, _)| *known == number);
        let of_standard = ["bs", "en", "iec"].contains(&before) || number.len() < word.len();
        let is_long = number.len() > 3;
        before = word;
        if let Some((_, kind)) = standard.filter(|_| of_standard || is_long) {
            said.general = kind.or(said.general);
            continue;
        }
        said.unknown |= word.len() > 1 && word.starts_with('-');
        // `circuit-breaker`, `32A/30mA`.
        for part in word.split(['-', '/']).filter(|part| !part.is_empty()) {
            said.add(part);
        }
    }
    said
}

impl SaidOfDevice {
    fn add(&mut self, word: &str) {
        if let Some((_, kind)) = KINDS.iter().find(|(known, _)| *known == word) {
            match kind {
                DeviceKind::Gg | DeviceKind::SemiEnclosed => {
                    let exact = self.general == Some(DeviceKind::SemiEnclosed);
                    self.general = Some(*kind).filter(|_| !exact).or(self.general);
                }
                DeviceKind::B | DeviceKind::C | DeviceKind::D => self.kinds.push(*kind),
            }
            return;
        }
        if WORDS.contains(&word) {
            self.is_residual |= word == "rcbo";
            return;
        }
        // Tripping current of a residual-current device, breaking capacity.
        if ["ma", "ka"].contains(&word) {
            self.ratings.pop();
            return;
        }
        let of_other = ["ma", "ka"].iter().find_map(|unit| word.strip_suffix(unit));
        if of_other.is_some_and(|number| number.parse::<f64>().is_ok()) {
            return;
        }
        let joined = KINDS.iter().find_map(|(known, kind)| {
            let rest = word.strip_prefix(known)?;
            Some((*kind, amps(rest)?))
        });
        if let Some((kind, amps)) = joined {
            self.ratings.push(amps);
            match kind {
                DeviceKind::Gg | DeviceKind::SemiEnclosed => self.general = Some(kind),
                DeviceKind::B | DeviceKind::C | DeviceKind::D => self.kinds.push(kind),
            }
        } else if let Some(amps) = amps(word) {
            self.ratings.push(amps);
        } else {
            self.unknown = true;
        }
    }
}

fn amps(word: &str) -> Option<f64> {
    let digits = word
        .trim_end_matches("amps")
        .trim_end_matches("amp")
        .trim_end_matches('a');
    let is_number = digits.starts_with(|c: char| c.is_ascii_digit());
    let amps: f64 = digits.parse().ok().filter(|_| is_number)?;
    (amps > 0.0 && amps.is_finite()).then_some(amps)
}

/// The device that is meant, as it is written here; `None` where the text names no rated current.
fn suggestion(kind: Option<DeviceKind>, ratings: &[f64]) -> Option<String> {
    let [rated_a] = *ratings else {
        return None;
    };
    Some(match kind {
        Some(kind) => format!("write `{}`", ProtectiveDevice { kind, rated_a }),
        None => format!(
            "write `gG {rated_a}` for a fuse, `B {rated_a}`, `C {rated_a}` or `D {rated_a}` for a circuit-breaker"
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<String, String> {
        let device = read_device(text);
        device
            .map(|device| device.to_string())
            .map_err(|error| error.suggestion().unwrap_or_default())
    }

    #[test]
    fn devices_read_in_the_words_of_the_trade() {
        for (device, texts) in [
            (
                "gG 32",
                &[
                    "gG 32",
                    "gg32",
                    " gG 32 A",
                    "BS 88 32",
                    "BS88-2 32A",
                    "fuse 32",
                    "32 A HRC fuse",
                    "IEC 60269 gG 32",
                ][..],
            ),
            (
                "B 32",
                &[
                    "B 32",
                    "32A Type B",
                    "b32",
                    "MCB B32",
                    "circuit-breaker, type B, 32 A",
                ],
            ),
            (
                "C 32",
                &[
                    "C 32",
                    "MCB C32",
                    "RCBO C32 30mA",
                    "C32 RCBO type A 30 mA",
                    "BS EN 60898-1 C 32",
                    "60898 C32 6kA",
                    "TP MCB 32A curve C",
                ],
            ),
            (
                "BS 3036 30",
                &[
                    "BS 3036 30",
                    "BS3036 30A",
                    "rewirable fuse 30 A",
                    "semi-enclosed 30",
                ],
            ),
        ] {
            for text in texts {
                let expected = device.to_owned();
                assert_eq!(read(text), Ok(expected), "{text}");
            }
        }
    }

    #[test]
    fn what_is_no_standard_device_is_asked_about() {
        for (text, help) in [
            ("C 33", "`C 32` or `C 40`"),
            ("fuse 30", "`gG 25` or `gG 32`"),
            ("BS 3036 32", "`BS 3036 30` or `BS 3036 45`"),
            ("MCB 32", "`B 32`, `C 32` or `D 32`"),
            ("RCBO 32A type B", "residual-current"),
            ("C 2000", "`C 125`"),
        ] {
            let error = read(text).expect_err(text);
            assert!(error.contains(help), "{text}: {error}");
        }
        for text in [
            "",
            "32",
            "E 16",
            "gG",
            "C 0",
            "C -16",
            "C 16/2",
            "B C 16",
            "aM 32",
            "MCB type 2 30A",
            "BS 3036 C 30",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
