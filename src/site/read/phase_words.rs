//! The words in which people write the phases of a load.
//!
//! Of two possible readings none is taken: `B` is blue or the second phase, black and blue are a phase in one colour code
//! and the neutral in another. The other cells of the column may decide a letter; colours are decided by
//! `conductor_colours` alone.

use std::collections::BTreeSet;

use crate::model::connection::Connection;
use electrical::{Phase, PhasePair};

/// Names of the three phases that belong together.
const PHASE_NAMES: [[&str; 3]; 6] = [
    ["l1", "l2", "l3"],
    ["1", "2", "3"],
    ["r", "y", "b"],
    ["r", "s", "t"],
    ["a", "b", "c"],
    ["u", "v", "w"],
];

/// Colours of L1, L2, L3 and N that are a phase in both codes of BS 7671, or in one and unused in the other.
const CLEAR_COLOURS: [(&str, Phase); 5] = [
    ("brown", Phase::L1),
    ("red", Phase::L1),
    ("yellow", Phase::L2),
    ("grey", Phase::L3),
    ("gray", Phase::L3),
];

/// Colours that are a phase in one country or time and the neutral in another.
const DOUBTFUL_COLOURS: [&str; 4] = ["black", "blue", "white", "orange"];

/// Words for all three phases.
const THREE_PHASES: [&str; 14] = [
    "3ph",
    "3phase",
    "3phases",
    "threephase",
    "threephases",
    "3p",
    "3pn",
    "3phn",
    "tp",
    "tpn",
    "3~",
    "3φ",
    "3ø",
    "all",
];

/// Words for one phase that do not say which.
const SINGLE_PHASE: [&str; 12] = [
    "1ph",
    "1phase",
    "singlephase",
    "onephase",
    "single",
    "1p",
    "1pn",
    "1phn",
    "sp",
    "spn",
    "1~",
    "1φ",
];

/// Words for two phases that do not say which.
const TWO_PHASES: [&str; 6] = ["2ph", "2phase", "2phases", "twophase", "2p", "dp"];

/// How a column writes its phases, or a single text.
#[derive(Debug)]
pub(crate) struct PhaseWords<'m> {
    marks: Option<&'m [String; 4]>,
    /// Single letters and numbers of the column.
    names: BTreeSet<String>,
}

/// Why a text cannot be taken for a connection.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum PhaseDoubt {
    /// It names no phase that is known.
    Unknown,
    /// It may be read in two ways; what to write instead.
    Open(String),
}

impl<'m> PhaseWords<'m> {
    /// Of a column, given what marks the site's conductors.
    pub(crate) fn of<'c>(
        marks: Option<&'m [String; 4]>,
        cells: impl IntoIterator<Item = &'c str>,
    ) -> PhaseWords<'m> {
        let names = cells
            .into_iter()
            .filter(|cell| {
                let counted = joined(cell);
                let counts = [&THREE_PHASES[..], &SINGLE_PHASE, &TWO_PHASES];
                !counts.iter().any(|words| words.contains(&counted.as_str()))
            })
            .flat_map(tokens)
            .collect();
        PhaseWords { marks, names }
    }

    /// The connection that a text names.
    pub(crate) fn read(&self, text: &str) -> Result<Connection, PhaseDoubt> {
        if let Ok(connection) = text.parse() {
            return Ok(connection);
        }
        let lower = text.trim().to_lowercase();
        let joined = joined(&lower);
        if THREE_PHASES.contains(&joined.as_str()) {
            return Ok(Connection::THREE_PHASE);
        }
        if SINGLE_PHASE.contains(&joined.as_str()) {
            return Err(PhaseDoubt::Open(
                "write which one, `L1`, `L2` or `L3`; `any` where the plan may choose".to_owned(),
            ));
        }
        if TWO_PHASES.contains(&joined.as_str()) {
            return Err(PhaseDoubt::Open(
                "write which two, `L1-L2`, `L2-L3` or `L3-L1`; `any-2` where the plan may choose"
                    .to_owned(),
            ));
        }
        if joined == "any2" {
            return Ok(Connection::AnyPair);
        }
        if let Some(mark) = self.mark(&lower) {
            return mark.map(Connection::ToNeutral);
        }
        let mut tokens = tokens(&lower);
        let with_neutral = tokens.iter().any(|token| token == "n");
        tokens.retain(|token| token != "n");
        let mut phases = Vec::new();
        for token in &tokens {
            phases.push(self.phase(token)?);
        }
        let distinct: BTreeSet<Phase> = phases.iter().copied().collect();
        if distinct.len() != phases.len() {
            return Err(PhaseDoubt::Unknown);
        }
        match phases[..] {
            [one] => Ok(Connection::ToNeutral(one)),
            [one, other] if !with_neutral => PhasePair::ALL
                .into_iter()
                .find(|pair| {
                    let (leaves, returns) = pair.phases();
                    distinct == BTreeSet::from([leaves, returns]) && one != other
                })
                .map(Connection::Between)
                .ok_or(PhaseDoubt::Unknown),
            [_, _, _] => Ok(Connection::THREE_PHASE),
            _ => Err(PhaseDoubt::Unknown),
        }
    }

    /// A mark of the site's own, of several words perhaps.
    fn mark(&self, text: &str) -> Option<Result<Phase, PhaseDoubt>> {
        let at = self
            .marks?
            .iter()
            .position(|mark| same_colour(mark, text))?;
        Some(match Phase::ALL.get(at) {
            Some(phase) => Ok(*phase),
            None => Err(PhaseDoubt::Open(format!(
                "`{text}` marks the neutral here, by `conductor_colours`: write the phase, `L1`, `L2` or `L3`"
            ))),
        })
    }

    fn phase(&self, token: &str) -> Result<Phase, PhaseDoubt> {
        if let Some(mark) = self.mark(token) {
            return mark;
        }
        let clear = CLEAR_COLOURS.iter().find(|(colour, _)| *colour == token);
        let is_colour = clear.is_some() || DOUBTFUL_COLOURS.contains(&token);
        if is_colour && let Some(marks) = self.marks {
            return Err(PhaseDoubt::Open(format!(
                "by `conductor_colours` the conductors here are {}, {}, {} and N {}: write `L1`, `L2` or `L3`",
                marks[0], marks[1], marks[2], marks[3]
            )));
        }
        if let Some((_, phase)) = clear {
            return Ok(*phase);
        }
        if is_colour {
            return Err(PhaseDoubt::Open(format!(
                "{token} is a phase in one colour code and the neutral in another: write `L1`, `L2` or `L3`, or say in \
                 site.toml what marks the conductors here, `conductor_colours = \"brown-black-grey\"`, \
                 `\"red-yellow-blue\"` or your own words"
            )));
        }
        self.named(token)
    }

    /// A phase by its letter or number.
    fn named(&self, token: &str) -> Result<Phase, PhaseDoubt> {
        let is_number = |name: &str| ["1", "2", "3"].contains(&name);
        if is_number(token) && !self.names.contains("2") {
            return Err(PhaseDoubt::Open(format!(
                "`{token}` may be phase L{token} or the number of phases: write `L{token}`, or `{}`",
                if token == "1" { "any" } else { "3ph" }
            )));
        }
        let letters: Vec<&String> = self
            .names
            .iter()
            .filter(|name| name.len() == 1 && !is_number(name))
            .collect();
        let mut readings: BTreeSet<Phase> = BTreeSet::new();
        let mut known: BTreeSet<Phase> = BTreeSet::new();
        for names in PHASE_NAMES {
            let Some(at) = names.iter().position(|name| *name == token) else {
                continue;
            };
            known.insert(Phase::ALL[at]);
            let all = letters
                .iter()
                .all(|letter| names.contains(&letter.as_str()));
            if all || is_number(token) || token.len() > 1 {
                readings.insert(Phase::ALL[at]);
            }
        }
        // The other letters of the column belong together with none: what is clear stays clear.
        let mut readings = if readings.is_empty() { known } else { readings };
        if token == "b"
            && let Some(marks) = self.marks
        {
            let with_b = (0..3).filter(|&at| marks[at].to_lowercase().starts_with('b'));
            let of_marks: BTreeSet<Phase> = with_b.map(|at| Phase::ALL[at]).collect();
            let is_abc = letters
                .iter()
                .any(|letter| ["a", "c"].contains(&letter.as_str()));
            if readings.len() > 1 && of_marks.len() == 1 {
                readings = of_marks;
            } else if !is_abc {
                readings.extend(of_marks);
            }
        }
        let mut read = readings.iter();
        match (read.next(), read.next()) {
            (Some(phase), None) => Ok(*phase),
            (Some(_), Some(_)) => Err(PhaseDoubt::Open(format!(
                "`{}` may be blue or the second of A, B, C: write `L1`, `L2` or `L3`",
                token.to_uppercase()
            ))),
            _ => Err(PhaseDoubt::Unknown),
        }
    }
}

fn same_colour(mark: &str, text: &str) -> bool {
    let plain = |text: &str| text.trim().to_lowercase().replace("gray", "grey");
    plain(mark) == plain(text)
}

/// A text in small letters without what separates its words.
fn joined(text: &str) -> String {
    let lower = text.to_lowercase();
    let separates = |c: char| c.is_whitespace() || "-_.&+".contains(c);
    lower.chars().filter(|c| !separates(*c)).collect()
}

/// The names of phases in a text: `L-1` and `phase 1` are one, `L2/L1`, `R-Y` and `RY` two.
fn tokens(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    let mut tokens: Vec<String> = Vec::new();
    let mut after_phase = false;
    for word in lower.split(|c: char| !c.is_alphanumeric()) {
        let number = ["1", "2", "3"].contains(&word);
        match tokens.last_mut() {
            _ if ["", "to", "and"].contains(&word) => continue,
            _ if ["phase", "ph", "line"].contains(&word) => {
                after_phase = true;
                continue;
            }
            // `L-1`, `L 1`.
            Some(last) if number && last == "l" => last.push_str(word),
            // `L1-2`, `phase 1`.
            Some(last) if number && last.starts_with('l') => tokens.push(format!("l{word}")),
            _ if number && after_phase => tokens.push(format!("l{word}")),
            _ if word == "neutral" => tokens.push("n".to_owned()),
            _ => tokens.extend(split(word)),
        }
        after_phase = false;
    }
    tokens
}

/// `l1l2` and `ry` as two names; any other word as it is.
fn split(word: &str) -> Vec<String> {
    if let Some(number) = word
        .strip_prefix("phase")
        .or_else(|| word.strip_prefix("ph"))
        && ["1", "2", "3"].contains(&number)
    {
        return vec![format!("l{number}")];
    }
    for names in PHASE_NAMES {
        let mut rest = word;
        let mut found = Vec::new();
        while let Some(name) = names
            .iter()
            .chain(&["n"])
            .find(|name| rest.starts_with(**name))
        {
            found.push((*name).to_owned());
            rest = &rest[name.len()..];
        }
        if rest.is_empty() && !found.is_empty() {
            return found;
        }
    }
    vec![word.to_owned()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(column: &[&str], marks: Option<&str>) -> Vec<String> {
        let marks = marks.map(|marks| {
            let mut all = marks.split('-').map(str::to_owned);
            [(); 4].map(|()| all.next().expect("four marks"))
        });
        let words = PhaseWords::of(marks.as_ref(), column.iter().copied());
        let read = column.iter().map(|text| match words.read(text) {
            Ok(connection) => connection.to_string(),
            Err(PhaseDoubt::Unknown) => "unknown".to_owned(),
            Err(PhaseDoubt::Open(_)) => "asked".to_owned(),
        });
        read.collect()
    }

    #[test]
    fn phases_are_read_in_the_words_of_the_trade() {
        for (column, expected) in [
            (
                &["L1", "L-1", "l 2", "Phase 3", "ph1"][..],
                "L1 L1 L2 L3 L1",
            ),
            (
                &["R", "Y", "B", "RYB", "R-Y", "BR"],
                "L1 L2 L3 3ph L1-L2 L3-L1",
            ),
            (&["A", "B", "C", "A/C"], "L1 L2 L3 L3-L1"),
            (&["U", "V", "W"], "L1 L2 L3"),
            (&["R", "S", "T"], "L1 L2 L3"),
            (&["1", "2", "3", "1-2", "123"], "L1 L2 L3 L1-L2 3ph"),
            (&["brown", "Grey", "red", "YELLOW"], "L1 L3 L1 L2"),
            (
                &["3-phase", "TP&N", "3 ph + N", "three phase", "L1/L2/L3/N"],
                "3ph 3ph 3ph 3ph 3ph",
            ),
            (
                &["L2-L1", "L1-N", "L1+L3", "L1-2", "L2 and L3"],
                "L1-L2 L1 L3-L1 L1-L2 L2-L3",
            ),
            (
                &["any", "any 2", "L4", "?", "L1-L1", "L1-L2-N"],
                "any any-2 unknown unknown unknown unknown",
            ),
        ] {
            assert_eq!(read(column, None).join(" "), expected, "{column:?}");
        }
    }

    #[test]
    fn two_possible_readings_are_asked_about() {
        for (column, expected) in [
            (&["B"][..], "asked"),
            (&["B", "L1"], "asked L1"),
            (&["black", "blue", "white"], "asked asked asked"),
            (&["red", "yellow", "blue"], "L1 L2 asked"),
            (&["1", "3", "3"], "asked asked asked"),
            (&["single phase", "1-ph", "2-phase"], "asked asked asked"),
        ] {
            assert_eq!(read(column, None).join(" "), expected, "{column:?}");
        }
    }

    #[test]
    fn the_colours_of_the_site_decide() {
        let new = Some("brown-black-grey-blue");
        assert_eq!(
            read(&["black", "blue", "gray", "red"], new).join(" "),
            "L2 asked L3 asked"
        );
        assert_eq!(read(&["B"], new).join(" "), "asked");
        assert_eq!(read(&["R", "Y", "B"], new).join(" "), "L1 L2 asked");
        assert_eq!(read(&["A", "B", "C"], new).join(" "), "L1 L2 L3");
        let old = Some("red-yellow-blue-black");
        assert_eq!(
            read(&["red", "blue", "black", "B"], old).join(" "),
            "L1 L3 asked L3"
        );
        assert_eq!(
            read(&["sky blue", "tan", "N2"], Some("tan-sky blue-mauve-N2")).join(" "),
            "L2 L1 asked"
        );
    }
}
