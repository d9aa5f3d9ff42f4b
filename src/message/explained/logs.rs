//! Messages about logs.

use super::{Explained, page};

pub(super) const PAGES: &[Explained] = &[
    page(
        "ambiguous-date",
        "Day and month of the log's dates could be exchanged, and neither the numbers nor their order decide.",
        "Write the format under [[meter]]: time = { format = \"%d/%m/%Y %H:%M\" } with the day first, or \"%m/%d/%Y %H:%M\" with the month first.",
    ),
    page(
        "carbon-step",
        "The carbon factors are closer together than a quarter-hour, or further apart than a day.",
        "Give a factor for each half-hour or hour, or one for all time as carbon_g_per_kwh under [site].",
    ),
    page(
        "column-type",
        "A column of a Parquet log has values of another kind than the quantity needs.",
        "Name a column with numbers for a quantity, and one with times for the time.",
    ),
    page(
        "columns-move",
        "A second header within the log names other columns, so that the rows below it have other quantities.",
        "Split the log into one file for each header.",
    ),
    page(
        "damaged-log",
        "The log is incomplete or damaged.",
        "Export or copy it again.",
    ),
    page(
        "empty-log",
        "The log has no rows.",
        "Export it again, or exclude the file from the meter's files.",
    ),
    page(
        "files-differ",
        "The files of one meter have different quantities.",
        "Under [meter.columns], name the columns that all files have; or make two meters of them.",
    ),
    page(
        "glob",
        "The pattern of a meter's files cannot be understood.",
        "Write a path such as meters/main.csv, with * for any characters: meters/main-*.csv.",
    ),
    page(
        "log-compression",
        "A Parquet log is compressed in a way that the program does not read.",
        "Write it with snappy, gzip, lz4 or without compression.",
    ),
    page(
        "missing-log-column",
        "The log has no column with the name that [meter.columns] gives.",
        "Write the name exactly as in the header of the log.",
    ),
    page(
        "no-known-column",
        "The header has no name from which a quantity is recognised.",
        "Name the columns under [meter.columns], such as current_l1_a = \"I1\". `tapoff explain meter.columns` lists the quantities.",
    ),
    page(
        "no-log",
        "No file matches the path or pattern of a meter.",
        "Check files under [[meter]]: the path begins in the site folder.",
    ),
    page(
        "no-number-in-column",
        "A column that a meter uses has no number at all.",
        "Name another column, or check the decimal sign of the log.",
    ),
    page(
        "no-such-column",
        "No log has the column that `column:NAME` names.",
        "Write the name as in the header of the log.",
    ),
    page(
        "no-usable-row",
        "No row of the log has both a readable time and a number.",
        "Look at the row that the message shows: the format of the time, the separator or the decimal sign is another than the one read.",
    ),
    page(
        "register-or-interval",
        "A column may be a register that only advances, or the energy of each interval, and its first readings do not decide.",
        "Name the column under [meter.columns] with energy_import_kwh for a register, or energy_interval_kwh.",
    ),
    page(
        "repeated-hour",
        "Rows fall into the hour that the clock repeats in autumn, and the meter refuses them.",
        "Log UTC or an offset; or write repeated_hour = \"by-order\" under [meter.time].",
    ),
    page(
        "span-of-time",
        "The log gives a span of time in each row, such as from 10:00 to 10:15 in one cell.",
        "Log one time in each row, and say with stamp whether it is the start or the end.",
    ),
    page(
        "too-large",
        "The file is larger than the program reads.",
        "Split the log, or name the columns that are needed under [meter.columns].",
    ),
    page(
        "too-many-words",
        "A column by which energy is grouped has too many different words.",
        "Name a column with few words, such as a shift or an order number.",
    ),
    page(
        "two-candidates",
        "Two columns could be the same quantity.",
        "Choose one under [meter.columns].",
    ),
    page(
        "two-columns",
        "The log has two columns of the same name.",
        "Rename one of them in the header of the log.",
    ),
    page(
        "unit-not-said",
        "The log gives no unit for a recognised column; the usual one is assumed.",
        "If the figures are in another unit, give the scale under [meter.columns]: active_power_kw = { column = \"P\", scale = 0.001 }.",
    ),
    page(
        "unknown-unit",
        "The log gives a unit that is not known, or does not fit the quantity; the figures are read in the quantity's own unit.",
        "Give the scale under [meter.columns].",
    ),
    page(
        "unreadable-cell",
        "Some cells of the log are not numbers. They are excluded.",
        "Look at the first one, which the message shows. Texts that mean no reading can be listed in missing under [[meter]].",
    ),
    page(
        "unreadable-time",
        "Some rows have a time that cannot be read. They are excluded.",
        "Look at the first one, which the message shows, and compare it with format under [meter.time].",
    ),
    page(
        "interval-format",
        "A file of interval data breaks its format at the line that is shown: a day with too few or too many values, records that do not fit each other, a unit or a date that the format does not have.",
        "Ask for the file again, or take the lines of that day out.",
    ),
    page(
        "two-versions",
        "A file has two different versions of one day of one channel, and nothing in it says which is the later.",
        "Look at both lines. Write corrections = \"last\" or corrections = \"first\" under [[meter]].",
    ),
    page(
        "corrected-values",
        "A file has two different versions of one day; the one that counts is named, with both totals.",
        "Compare the totals with the bill. corrections under [[meter]] decides otherwise.",
    ),
    page(
        "no-header-record",
        "A file of interval data begins without its first record, as files that network companies hand to customers do.",
        "Nothing, if it is interval data of that market.",
    ),
    page(
        "cut-off",
        "A file of interval data lacks the record that ends it.",
        "Compare its last day with the source; download it again where days are missing.",
    ),
    page(
        "register-disagrees",
        "The readings of a register do not give the energy that is stated with them.",
        "Compare both with the bill: a multiplier is applied, or the meter was exchanged.",
    ),
    page(
        "several-points",
        "A file has readings of several meters, and the site does not say which one it means.",
        "Write point under [[meter]], with the identifier that the file gives the meter, and add a [[meter]] for each of the others.",
    ),
    page(
        "unknown-point",
        "None of the files of a meter has the point that is named under it.",
        "Compare point under [[meter]] with the identifiers that the message lists.",
    ),
    page(
        "no-energy",
        "A file in a known format has no channel of energy or power.",
        "Ask for interval data of electricity.",
    ),
    page(
        "zone-of-log",
        "A log without a site says nothing of its time zone; that of the machine, or the one that --timezone names, is taken.",
        "Name the zone of the meter with --timezone, such as --timezone Europe/London.",
    ),
    page(
        "needs-supply",
        "The command needs the nominal voltage and the limits of the supply, and site.toml has no [supply].",
        "Add [supply] with line_voltage_v and phase_limit_a. Energy and bills work without it.",
    ),
    page(
        "unit-of-values",
        "A file with a column for each period names no unit; the values are taken for kWh, and the total is shown that they would have as mean power in kW.",
        "Write unit = \"kWh\" or unit = \"kW\" under [[meter]].",
    ),
    page(
        "thousands-or-decimals",
        "A number such as 1,234 may have a thousands separator or a decimal sign, and nothing in the file decides; both totals are shown.",
        "Write thousands or decimal under [[meter]].",
    ),
    page(
        "standard-time",
        "On the days of the clock change the file has as many periods as on others: its times are standard time throughout.",
        "Nothing, if that is right; else write zone under [meter.time].",
    ),
    page(
        "unread-sheet",
        "A sheet of a workbook cannot be read; the other sheets are. What it holds is in no figure.",
        "Open the workbook, save it again, or save that sheet as CSV and name the file under [[meter]].",
    ),
    page(
        "unread-channel",
        "A file of meter data has a channel whose quantity or unit is not known, next to channels that are read. Its values are in no figure.",
        "Nothing, if the channel holds no energy or power; else ask for it in kWh or kvarh.",
    ),
    page(
        "unread-column",
        "A column of a table holds numbers, but not in the first rows, by which the columns are understood. Its values are in no figure.",
        "If they are readings, move a row with them to the top of the file, or name the columns under [meter.columns].",
    ),
    page(
        "unused-point",
        "A file has readings of several meters, and no [[meter]] of site.toml uses some of them.",
        "Add a [[meter]] with that point, if it is one of the site.",
    ),
];
