//! Reads `[[variable]]` and `[baseline]`.

use super::table::{Located, SiteTable};
use crate::model::variable::{BaselineTerms, DAY_TYPE, DegreeDays, Every, Per, Variable};
use crate::read::date::read_date;
use crate::read::meters::refuse_outside;
use message::{Message, did_you_mean};

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Vec<Variable> {
    let mut variables: Vec<Variable> = Vec::new();
    for table in root.tables("variable") {
        let name = table.required_text("name");
        let variable = name.as_ref().and_then(|name| read_one(&table, name));
        table.finish();
        let Some(name) = name else { continue };
        let taken =
            name.value == DAY_TYPE || variables.iter().any(|known| known.name == name.value);
        if taken {
            table.source.push(
                Message::error(
                    "duplicate-variable",
                    format!("the name `{}` is used twice", name.value),
                )
                .at(table.source.place(&name.span), "used before")
                .note(format!("`{DAY_TYPE}` stands for the kinds of day"))
                .help("give each variable a name of its own"),
            );
        }
        variables.extend(variable);
    }
    variables
}

fn read_one(table: &SiteTable<'_, '_>, name: &Located<String>) -> Option<Variable> {
    let file = table.required_text("file");
    if let Some(file) = &file {
        refuse_outside(table, file);
    }
    let column = table.required_text("column");
    let time = table.text("time").map(|text| text.value);
    let per = table.word(
        "per",
        &[
            ("hour", Per::Hour),
            ("day", Per::Day),
            ("week", Per::Week),
            ("month", Per::Month),
        ],
    );
    let per = per.unwrap_or(Per::Day);
    let unit = table.text("unit").map(|text| text.value);
    let heating = table.number("heating_base_c");
    let cooling = table.number("cooling_base_c");
    let degree_days = match (heating, cooling) {
        (Some(_), Some(_)) => {
            complain(
                table,
                "a variable has the degree days of one base",
                "name `heating_base_c` or `cooling_base_c`; for both write two variables",
            );
            None
        }
        (Some(base_c), None) => Some(DegreeDays::Heating(base_c)),
        (None, Some(base_c)) => Some(DegreeDays::Cooling(base_c)),
        (None, None) => None,
    };
    if degree_days.is_some() && matches!(per, Per::Week | Per::Month) {
        complain(
            table,
            "degree days are made of hourly or daily temperatures",
            "write `per = \"day\"`; or, where the file has degree days already, leave the base out",
        );
    }
    Some(Variable {
        name: name.value.clone(),
        file: file?.value,
        column: column?.value,
        time,
        per,
        unit,
        degree_days,
    })
}

fn complain(table: &SiteTable<'_, '_>, text: &str, help: &str) {
    table.source.push(
        Message::error("degree-days", text)
            .at(table.source.place(&table.span), "this variable")
            .help(help),
    );
}

/// What is compared with what; the variables and meters that it names must be there.
pub(crate) fn read_baseline(
    root: &SiteTable<'_, '_>,
    variables: &[Variable],
    meters: &[&str],
) -> Option<BaselineTerms> {
    let table = root.table("baseline")?;
    let dates = ["from", "to"].map(|key| {
        let text = table.text(key)?;
        Some((read_date(table.source, &text)?, text.span))
    });
    if let [Some((from, _)), Some((to, at))] = &dates
        && to <= from
    {
        table.source.push(
            Message::error("empty-period", "the baseline ends before it begins").at(
                table.source.place(at),
                format!("expected a date after {from}: the first day after it"),
            ),
        );
    }
    let every = table.word(
        "by",
        &[
            ("day", Every::Day),
            ("week", Every::Week),
            ("month", Every::Month),
        ],
    );
    let meter = table.text("meter");
    if let Some(meter) = &meter {
        expect_one_of(&table, meter, "meter", meters);
    }
    let is_said = table.value("goes_by").is_some();
    let goes_by = table.texts("goes_by");
    table.finish();
    let mut names = vec![DAY_TYPE];
    names.extend(variables.iter().map(|variable| variable.name.as_str()));
    for name in &goes_by {
        expect_one_of(&table, name, "variable", &names);
    }
    let [from, to] = dates.map(|date| date.map(|(date, _)| date));
    Some(BaselineTerms {
        from,
        to,
        every: every.unwrap_or(Every::Day),
        meter: meter.map(|meter| meter.value),
        goes_by: is_said.then(|| goes_by.into_iter().map(|name| name.value).collect()),
    })
}

fn expect_one_of(table: &SiteTable<'_, '_>, name: &Located<String>, what: &str, known: &[&str]) {
    if known.contains(&name.value.as_str()) {
        return;
    }
    table.source.push(
        Message::error(
            "unknown-target",
            format!(
                "`[baseline]` names the {what} `{}`, which is not there",
                name.value
            ),
        )
        .at(
            table.source.place(&name.span),
            format!("expected one of {}", known.join(", ")),
        )
        .maybe_help(did_you_mean(&name.value, known.iter().copied())),
    );
}
