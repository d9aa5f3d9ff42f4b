//! `[[meter]]`, `[meter.time]`, `[meter.columns]`.

use declaration::{Declared, Key, ValueKind};

pub(super) static METER: Declared = Declared {
    meaning: "A meter: what it measures, where its log files are and how they are written.",
    keys: &[
        Key::text("id", "\"main\"", "Name of the meter.").required(),
        Key::text(
            "measures",
            "\"supply\"",
            "What it measures: \"supply\", or the name of a board, circuit or machine.",
        )
        .required(),
        Key::text(
            "files",
            "\"meters/main-*.csv\"",
            "Path or pattern of its log files, inside the site folder.",
        )
        .or_else("registers.csv, a table with the columns date, meter, value: registers read by hand"),
        Key::text(
            "point",
            "\"NMI1234567/1\"",
            "Which meter of its files, where they hold several: the identifier that the files give it.",
        ),
        Key::text(
            "unit",
            "\"kWh\"",
            "Unit of the values of a file with a column for each period, where the file names none.",
        ),
        Key::new(
            "readings",
            ValueKind::Word(&["average", "instant"]),
            "Is a reading the mean over its interval, or the value at that moment?",
        )
        .or("\"average\"")
        .example("\"instant\""),
        Key::new(
            "stamp",
            ValueKind::Word(&["start", "end"]),
            "Does the time of a reading mark the start or the end of its interval?",
        )
        .or_else("by the name of the time column; a date without a time is the whole day; else the end")
        .example("\"start\""),
        Key::new(
            "corrections",
            ValueKind::Word(&["first", "last"]),
            "Which value counts where the files have two different ones for an interval: \"last\" where later files \
             correct earlier ones.",
        )
        .or_else("the first, with a warning that shows both totals")
        .example("\"last\""),
        Key::new(
            "time",
            ValueKind::Table(&TIME),
            "The column with the time, how it is written and in which time zone.",
        )
        .example("{ column = \"time\", format = \"%Y-%m-%d %H:%M\", zone = \"local\" }"),
        Key::new(
            "columns",
            ValueKind::Table(&COLUMNS),
            "Which column of the log has which quantity. Left out, columns with usual names are recognised.",
        )
        .example("{ current_l1_a = \"I1\", active_power_l1_kw = { column = \"P1\", scale = 0.001 } }"),
        Key::new(
            "separator",
            ValueKind::Form("one character, or \"tab\""),
            "Character between the cells.",
        )
        .or_else("detected")
        .example("\";\""),
        Key::new(
            "decimal",
            ValueKind::Form("one character"),
            "Decimal sign of the numbers.",
        )
        .or_else("detected")
        .example("\",\""),
        Key::new(
            "thousands",
            ValueKind::Form("one character"),
            "Sign between groups of three digits.",
        )
        .example("\"'\""),
        Key::new(
            "missing",
            ValueKind::Texts("texts"),
            "Texts that mean there is no reading, besides an empty cell, -, NaN, n/a and null.",
        )
        .or("[]")
        .example("[\"-9999\"]"),
        Key::new(
            "header",
            ValueKind::Flag,
            "Does the log begin with a row of column names? If not, the columns are named \"1\", \"2\" and so on.",
        )
        .or("true")
        .example("false"),
        Key::number(
            "ratio",
            (f64::MIN_POSITIVE, 100_000.0, ""),
            "20",
            "Correction for the current transformers: currents, powers and energies are multiplied by it.",
        )
        .or("1.0"),
        Key::new(
            "class",
            ValueKind::Form("a class of IEC 62053 such as \"1\" or \"0.5S\""),
            "Accuracy class of the meter. It widens the tolerance when meters are compared.",
        )
        .example("\"0.5S\""),
        Key::new(
            "register_digits",
            ValueKind::Whole(3, 12),
            "Digits of the energy registers before the decimal sign: after the last number they start again at zero.",
        )
        .or_else("learned from the readings")
        .example("6"),
        Key::new(
            "plausibility",
            ValueKind::Word(&["drop", "keep"]),
            "What to do with readings that cannot be right: \"drop\" leaves them out of the figures, \"keep\" counts \
             them. Both list them.",
        )
        .or("\"drop\"")
        .example("\"keep\""),
    ],
};

static TIME: Declared = Declared {
    meaning: "How a log gives the time.",
    keys: &[
        Key::new(
            "column",
            ValueKind::Form("a column's name, or its number"),
            "The column with the time.",
        )
        .or_else("a column with a usual name, else the first")
        .example("\"time\""),
        Key::new(
            "columns",
            ValueKind::Texts("two columns"),
            "The columns with the date and the time of day, where they are two.",
        )
        .or("[]")
        .example("[\"date\", \"time\"]"),
        Key::new(
            "format",
            ValueKind::Form("a pattern such as \"%d.%m.%Y %H:%M\", or \"unix-s\" or \"unix-ms\""),
            "How the time is written: %Y year, %m month, %d day, %H hour, %M minute, %S second, %b Mar, %I and %p for \
             12-hour clocks. \"unix-s\" and \"unix-ms\" are seconds and milliseconds since 1970.",
        )
        .or_else("recognised")
        .example("\"%Y-%m-%d %H:%M\""),
        Key::new(
            "zone",
            ValueKind::Form("\"local\", \"UTC\" or an offset such as \"+01:00\""),
            "The time zone of the log's clock. \"local\" is the site's, with its clock changes.",
        )
        .or("\"local\"")
        .example("\"UTC\""),
        Key::new(
            "midnight",
            ValueKind::Word(&["closes-day", "opens-day"]),
            "Does 00:00 close the day whose date it has, or begin it? 24:00 always closes its day.",
        )
        .or("\"opens-day\"")
        .example("\"closes-day\""),
        Key::new(
            "repeated_hour",
            ValueKind::Word(&["by-order", "error"]),
            "What to do with the hour that is repeated in autumn: \"by-order\" takes the rows in their order, \
             \"error\" refuses the log.",
        )
        .or("\"by-order\"")
        .example("\"error\""),
    ],
};

/// Its keys are the quantities.
static COLUMNS: Declared = Declared {
    meaning: "Each quantity that the log has, with the name of its column. Several columns of an energy or a power, in \
              a list, add up.",
    keys: &[],
};

/// A column that is more than a name.
pub(crate) static COLUMN: Declared = Declared {
    meaning: "A column with its scale.",
    keys: &[
        Key::text("column", "\"P1\"", "Name of the column.").required(),
        Key::number(
            "scale",
            (-1e9, 1e9, ""),
            "0.001",
            "Factor from the log's numbers to the unit of the quantity.",
        )
        .or_else("by the unit that the log gives, else 1"),
    ],
};
