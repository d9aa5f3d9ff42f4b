//! Published worked examples: each case of `tests/golden/` against the formulas, at the digits printed.

mod cables;
mod demand;
mod harmonics;
mod input;
mod motors;
mod neutral;
mod power;
mod unbalance;

use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::fs;
use std::path::Path;

use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::tolerance::{RECOMPUTED_RELATIVE, close, half_last_digit, turn_deg};

type Outcome<T> = Result<T, Box<dyn Error>>;

/// Figures by name; a name ending in `_deg` is an angle.
type Figures = BTreeMap<String, f64>;

/// Inputs of a case and how the program works out its figures.
trait Worked: DeserializeOwned {
    fn figures(&self) -> Outcome<Figures>;
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Golden<I> {
    case: Vec<Case<I>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case<I> {
    id: String,
    about: String,
    source: String,
    status: Status,
    #[serde(default, rename = "note")]
    _note: Option<String>,
    input: I,
    figures: BTreeMap<String, Figure>,
}

#[derive(Deserialize, PartialEq, Clone, Copy)]
enum Status {
    #[serde(rename = "textbook worked example")]
    Textbook,
    #[serde(rename = "seen on a public page")]
    PublicPage,
    #[serde(rename = "restated in secondary text")]
    Secondary,
    #[serde(rename = "from memory")]
    Memory,
    #[serde(rename = "derived")]
    Derived,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Figure {
    published: Option<String>,
    published_range: Option<[String; 2]>,
    published_within: Option<f64>,
    why: Option<String>,
    recomputed: f64,
}

impl Figure {
    /// What is wrong with the value found, if anything.
    fn fault(&self, name: &str, found: f64) -> Outcome<Option<String>> {
        let apart = |wanted: f64| {
            if name.ends_with("_deg") {
                turn_deg(found, wanted)
            } else {
                (found - wanted).abs()
            }
        };
        if let Some(printed) = &self.published {
            let allowed = self.published_within.unwrap_or(half_last_digit(printed));
            if apart(printed.parse()?) > allowed {
                return Ok(Some(format!("{name}: printed {printed}, found {found}")));
            }
        }
        if let Some([low, high]) = &self.published_range {
            let lowest = low.parse::<f64>()? - half_last_digit(low);
            let highest = high.parse::<f64>()? + half_last_digit(high);
            if !(lowest..=highest).contains(&found) {
                return Ok(Some(format!(
                    "{name}: printed {low} to {high}, found {found}"
                )));
            }
        }
        let wanted = self.recomputed;
        if !close(apart(wanted), 0.0, 0.0) && !close(found, wanted, RECOMPUTED_RELATIVE) {
            return Ok(Some(format!("{name}: worked out {wanted}, found {found}")));
        }
        Ok(None)
    }

    fn is_published(&self) -> bool {
        self.published.is_some() || self.published_range.is_some()
    }
}

fn text_of(file: &str) -> Outcome<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    Ok(fs::read_to_string(folder.join(file))?)
}

/// Checks every figure of every case of a file; the names of the cases checked.
fn check_file<I: Worked>(file: &str, cases: usize, figures: usize) -> Outcome<BTreeSet<String>> {
    let text = text_of(file)?;
    let golden: Golden<I> = toml::from_str(&text)?;
    let mut checked = BTreeSet::new();
    let mut figures_checked = 0;
    let mut faults = Vec::new();
    for case in &golden.case {
        assert_told(case);
        let found = case
            .input
            .figures()
            .map_err(|error| format!("{}: {error}", case.id))?;
        for (name, figure) in &case.figures {
            let value = found
                .get(name)
                .ok_or(format!("{}: no figure `{name}`", case.id))?;
            if let Some(fault) = figure.fault(name, *value)? {
                faults.push(format!("{}: {fault} ({})", case.id, case.source));
            }
            figures_checked += 1;
        }
        assert!(checked.insert(case.id.clone()), "{} twice", case.id);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert_eq!((checked.len(), figures_checked), (cases, figures), "{file}");
    // Counted in the text too, so that nothing is lost in reading it.
    let lines = |start: &str| text.lines().filter(|line| line.starts_with(start)).count();
    assert_eq!(lines("[[case]]"), cases, "{file}");
    let with_value = text.lines().filter(|line| line.contains("recomputed = "));
    assert_eq!(with_value.count(), figures, "{file}");
    Ok(checked)
}

/// A case says what it is, where it is from and why it is allowed to be off.
fn assert_told<I>(case: &Case<I>) {
    assert!(
        case.about.len() > 10 && case.source.len() > 10,
        "{}",
        case.id
    );
    assert!(!case.figures.is_empty(), "{} checks nothing", case.id);
    let published = case.figures.values().any(Figure::is_published);
    assert_eq!(
        published,
        case.status != Status::Derived,
        "{}: status",
        case.id
    );
    for (name, figure) in &case.figures {
        let allowance = figure.published_within.is_some();
        assert_eq!(allowance, figure.why.is_some(), "{}: {name}", case.id);
        assert!(
            !allowance || figure.published.is_some(),
            "{}: {name}",
            case.id
        );
        let both = figure.published.is_some() && figure.published_range.is_some();
        assert!(!both, "{}: {name}", case.id);
    }
}

#[test]
fn currents_and_neutral_agree_with_published_examples() -> Outcome<()> {
    check_file::<neutral::Input>("neutral.toml", 20, 68).map(drop)
}

#[test]
fn unbalance_agrees_with_published_examples() -> Outcome<()> {
    check_file::<unbalance::Input>("unbalance.toml", 19, 58).map(drop)
}

#[test]
fn power_agrees_with_published_examples() -> Outcome<()> {
    check_file::<power::Input>("power.toml", 39, 79).map(drop)
}

#[test]
fn demand_agrees_with_published_examples() -> Outcome<()> {
    check_file::<demand::Input>("demand.toml", 14, 23).map(drop)
}

#[test]
fn cables_agree_with_published_examples() -> Outcome<()> {
    check_file::<cables::Input>("cables.toml", 35, 173).map(drop)
}

#[test]
fn motors_agree_with_published_examples() -> Outcome<()> {
    check_file::<motors::Input>("motors.toml", 8, 65).map(drop)
}

#[test]
fn no_two_cases_share_a_name() -> Outcome<()> {
    let mut all = check_file::<neutral::Input>("neutral.toml", 20, 68)?;
    all.append(&mut check_file::<unbalance::Input>(
        "unbalance.toml",
        19,
        58,
    )?);
    all.append(&mut check_file::<power::Input>("power.toml", 39, 79)?);
    all.append(&mut check_file::<demand::Input>("demand.toml", 14, 23)?);
    all.append(&mut check_file::<cables::Input>("cables.toml", 35, 173)?);
    all.append(&mut check_file::<motors::Input>("motors.toml", 8, 65)?);
    assert_eq!(all.len(), 20 + 19 + 39 + 14 + 35 + 8);
    Ok(())
}

#[test]
fn a_wrong_figure_is_noticed() -> Outcome<()> {
    let figure = |published: Option<&str>, recomputed| Figure {
        published: published.map(str::to_owned),
        published_range: None,
        published_within: None,
        why: None,
        recomputed,
    };
    assert!(
        figure(Some("43.3"), 43.301_27)
            .fault("neutral_a", 43.301_27)?
            .is_none()
    );
    assert!(
        figure(Some("43.4"), 43.301_27)
            .fault("neutral_a", 43.301_27)?
            .is_some()
    );
    assert!(
        figure(None, 43.301_27)
            .fault("neutral_a", 43.302)?
            .is_some()
    );
    assert!(
        figure(Some("-167"), -167.0)
            .fault("l1_deg", 193.0)?
            .is_none()
    );
    assert!(
        figure(Some("-167"), -167.0)
            .fault("l1_deg", 13.0)?
            .is_some()
    );
    Ok(())
}
