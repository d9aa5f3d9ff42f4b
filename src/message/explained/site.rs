//! Messages about site.toml.

use super::{Explained, page};

pub(super) const PAGES: &[Explained] = &[
    page(
        "accuracy-class",
        "The accuracy class of a meter is not one of IEC 62053.",
        "Write the class as on the meter's plate, such as class = \"1\" or class = \"0.5S\".",
    ),
    page(
        "band-edge",
        "A tariff band begins or ends at a time that is not a full quarter-hour.",
        "Write 07:00, 07:15, 07:30 or 07:45, up to 24:00.",
    ),
    page(
        "band-otherwise",
        "A tariff band has `otherwise = true` and also days, months or times.",
        "The band of all other times has only band, otherwise and rate_per_kwh. Remove the times.",
    ),
    page(
        "band-over-midnight",
        "A tariff band runs over midnight, but not on every day, so that it is open whose days count.",
        "Write two bands with the same name and price: one up to 24:00 and one from 00:00.",
    ),
    page(
        "bands",
        "A tariff has more than one band with `otherwise`, or too many bands.",
        "Keep one band with otherwise = true. Bands with the same price and name can be combined.",
    ),
    page(
        "bands-gap",
        "Part of the year has no price of energy.",
        "Add a band for it, or one with otherwise = true for all other times.",
    ),
    page(
        "bands-overlap",
        "Part of the year has two prices of energy.",
        "Let each band end where the next one begins.",
    ),
    page(
        "board-loop",
        "Boards are fed from each other in a circle, so that none of them has a way to the supply.",
        "Give one board of the circle fed_from = \"supply\".",
    ),
    page(
        "conductor-colours",
        "`conductor_colours` does not name the marks of L1, L2 and L3.",
        "Write three words joined by a hyphen, such as \"brown-black-grey\", or a table with l1, l2, l3 and n.",
    ),
    page(
        "currency",
        "The currency is not a code of three capital letters (ISO 4217).",
        "Write GBP, EUR, USD and so on.",
    ),
    page(
        "curly-quotes",
        "The text has typographic quotation marks, as word processors write them. Files need straight ones.",
        "Replace them by straight quotation marks (\"). A plain text editor writes them so.",
    ),
    page(
        "date",
        "A date is not written year-month-day, or does not exist.",
        "Write it as 2026-03-21.",
    ),
    page(
        "days",
        "The text does not name days of the week.",
        "Write Mon-Fri, Sat,Sun or daily, with English names of three letters.",
    ),
    page(
        "decimal-comma",
        "A number has a decimal comma. site.toml needs a decimal point.",
        "Write a point: 1.1 instead of 1,1.",
    ),
    page(
        "degree-days",
        "Degree days cannot be calculated as written: a variable has two base temperatures, or rows of weeks or months.",
        "Write one base for each variable, and per = \"hour\" or \"day\". A file that already has degree days needs no base.",
    ),
    page(
        "demand-window",
        "The length of the demand period is not 15, 30 or 60 minutes.",
        "Write the length that your supplier uses: 15, 30 or 60.",
    ),
    page(
        "duplicate-id",
        "Two boards, circuits or meters have the same id.",
        "Give each its own id.",
    ),
    page(
        "duplicate-variable",
        "Two variables have the same name, or one is called \"day type\", which is the name for the days of the week.",
        "Give each variable its own name.",
    ),
    page(
        "empty-text",
        "A text that is needed is empty.",
        "Write the text between the quotation marks.",
    ),
    page(
        "energy-blocks",
        "The blocks of a price by amount are not in order, or a block other than the last has no end.",
        "Write the blocks with rising up_to_kwh_per_month, and the last one without it.",
    ),
    page(
        "incomplete",
        "The site could not be read, although no fault was found in its files.",
        "Run tapoff check, and look at the messages about site.toml.",
    ),
    page(
        "missing-key",
        "A table lacks a key that it must have.",
        "Add the line that the message shows. `tapoff explain KEY` says what it means.",
    ),
    page(
        "missing-table",
        "site.toml lacks [site] or [supply].",
        "Add the table. `tapoff new FOLDER` writes a site with all of them.",
    ),
    page(
        "months",
        "The text does not name months by their numbers.",
        "Write 1-12, 11-3 or 6,7,8.",
    ),
    page(
        "not-a-connection",
        "The connection before the work is not known.",
        "Write L1, L2, L3, L1-L2, L2-L3, L3-L1 or 3ph.",
    ),
    page(
        "not-four-wire-star",
        "The site says that its supply is not a three-phase four-wire star. Its neutral current then follows other rules, and wrong figures would be worse than none.",
        "Use the program for three-phase four-wire supplies only; correct system, phases or wires if they are wrong.",
    ),
    page(
        "not-toml",
        "site.toml does not follow the rules of TOML from the place shown.",
        "Write texts in straight quotation marks and numbers without them: name = \"Mill\", phase_limit_a = 100. Look at the line before as well.",
    ),
    page(
        "one-sign-for-two",
        "A meter's separator, decimal sign and thousands sign are not all different.",
        "Write the signs that the log uses, and leave out those that it does not have.",
    ),
    page(
        "out-of-range",
        "A number is smaller or larger than it can be.",
        "Check the figure and its unit. `tapoff explain KEY` shows the range.",
    ),
    page(
        "outside-site",
        "A path leads outside the site folder. Only files of the site are read.",
        "Copy the files into the site folder, such as into meters/.",
    ),
    page(
        "parts-of-level",
        "Several columns are given for a quantity whose readings do not add up, such as a voltage.",
        "Name one column. Only energies, active and reactive powers add up.",
    ),
    page(
        "phases",
        "A circuit cannot have these phases.",
        "Write 3ph, L1, L2, L3, L1-L2, L2-L3 or L3-L1. Leave phases out where the circuit has all three.",
    ),
    page(
        "protective-device",
        "The text is not a protective device that the program knows.",
        "Write the kind (gG, B, C or D) and the rated current in amperes: gG 32, B 16. Leave it out where the device is of another kind.",
    ),
    page(
        "reserved-name",
        "A board or circuit is called \"supply\", which is the name of the supply.",
        "Give it another id.",
    ),
    page(
        "single-character",
        "separator, decimal or thousands has more than one character.",
        "Write one character such as \";\", or \"tab\".",
    ),
    page(
        "tariff-twice",
        "Two tariffs take effect on the same day.",
        "Give each [[tariff]] its own date. It applies until the next one begins.",
    ),
    page(
        "time-columns",
        "The time of a log is given as more columns than one or two, or in a way the file cannot have.",
        "Write column = \"time\", or columns = [\"date\", \"time\"] for date and time of day. In a Parquet file the time is in one column.",
    ),
    page(
        "time-format",
        "The text is not a pattern of a time.",
        "Write how the log writes it, such as \"%d.%m.%Y %H:%M\", or \"unix-s\" or \"unix-ms\".",
    ),
    page(
        "time-of-day",
        "The text is not a time of day.",
        "Write hours and minutes such as 07:30, up to 24:00.",
    ),
    page(
        "time-zone",
        "The clock of a log is not \"local\", \"UTC\" or an offset.",
        "Write \"local\" for the site's time zone, \"UTC\", or an offset such as \"+01:00\".",
    ),
    page(
        "timezone",
        "The time zone of the site is not known.",
        "Write an IANA name such as \"Europe/London\".",
    ),
    page(
        "too-many",
        "The site is larger than the program reads: too many tables of one kind, or too many machines.",
        "Make one site of each building or workshop. Equal machines are one row with a quantity.",
    ),
    page(
        "two-carbon-factors",
        "There are two carbon factors for the same time: carbon_g_per_kwh and [carbon], or two rows of the file.",
        "Keep one of them.",
    ),
    page(
        "two-energy-prices",
        "A tariff prices energy both by time and by amount.",
        "Keep `energy` for prices by time, or `energy_blocks` for prices by amount.",
    ),
    page(
        "unknown-board",
        "A board or circuit is fed from a board that is not in site.toml.",
        "Write \"supply\", or the id of a [[board]].",
    ),
    page(
        "unknown-key",
        "A table has a key that the program does not know. It is refused so that a misspelt key is not overlooked.",
        "Correct the spelling, or remove it. `tapoff explain TABLE` lists the keys.",
    ),
    page(
        "unknown-kind",
        "There is no kind of finding with this name.",
        "`tapoff explain` lists the kinds of finding.",
    ),
    page(
        "unknown-quantity",
        "There is no quantity with this name that a meter may log.",
        "`tapoff explain meter.columns` lists the quantities. The name ends in the unit: current_l1_a, active_power_l1_kw.",
    ),
    page(
        "unknown-target",
        "A name does not exist: of what a meter measures, of what was moved, or of what the baseline depends on.",
        "Write the name as in the table or in the machine list; capitals matter.",
    ),
    page(
        "unknown-word",
        "A key has a word other than the few that it may have.",
        "Write one of the words that the message lists.",
    ),
    page(
        "wrong-type",
        "A value is of another kind than it must be, such as a text instead of a number.",
        "Write numbers without quotation marks or units, texts in quotation marks, lists in square brackets.",
    ),
    page(
        "charge-twice",
        "Two charges, levies or taxes of a tariff would have the same line on the bill.",
        "Give each a name of its own.",
    ),
    page(
        "two-statistics",
        "A charge for demand names the n-th highest demand period and a mean of the highest: one of them decides.",
        "Keep nth_highest or mean_of_highest.",
    ),
    page(
        "two-rates",
        "A price is given by the day and by the month.",
        "Keep one of the two rates.",
    ),
    page(
        "excess-rate",
        "Demand above the agreed capacity has a price by the month where the capacity has one by the day, or the other way round.",
        "Write both by the day or both by the month; excess of single days by the day.",
    ),
    page(
        "levy-on",
        "on chooses the lines that a percentage is of, and the levy is no percentage.",
        "Take on out, or write per = \"%\".",
    ),
    page(
        "two-taxes",
        "tax_pct is a tax on all of the bill, and taxes lists taxes.",
        "Write all of them under taxes.",
    ),
    page(
        "tax-below-one",
        "A tax of less than one per cent is read as written; it may be a share that was meant as a percentage.",
        "Write 20 for 20 %.",
    ),
    page(
        "unknown-line",
        "on of a levy or a tax names a line that does not come before it.",
        "Name a kind of line, such as energy, or a line as the bill prints it.",
    ),
    page(
        "periods-begin",
        "The dates on which billing periods begin do not ascend.",
        "Write the first day of each period, earliest first.",
    ),
    page(
        "two-period-starts",
        "Billing periods begin on a day of the month, and on listed dates.",
        "Keep day_of_month or periods_begin.",
    ),
    page(
        "price-time",
        "A time in a file of prices cannot be read, or does not come after the one above it.",
        "Write local times such as 2026-03-09 00:30, or times with their offset, in ascending order.",
    ),
    page(
        "no-price",
        "A file of prices has no row with a time and a price.",
        "Export the prices again, or name the columns under energy_prices.",
    ),
    page(
        "no-energy-price",
        "A set of prices of energy has neither bands nor blocks nor prices from a file.",
        "Add one of them.",
    ),
    page(
        "no-critical-day",
        "A band applies on critical days, and the tariff lists none: the band never applies.",
        "Add critical_days or critical_days_file.",
    ),
    page(
        "two-tariffs",
        "site.toml has a tariff or billing periods of its own, and names a file of them as well.",
        "Keep one of the two.",
    ),
    page(
        "reactive-steps",
        "The steps of a price of reactive energy do not ascend.",
        "Write them with rising above_share_of_kwh, above free_share_of_kwh.",
    ),
    page(
        "net-metering",
        "The credit for exported energy does not go together with the rest of the tariff, or a key of it is not understood.",
        "Write what the message names: a credit in kWh goes with bands or blocks by the month and without `export`, a credit in money needs `export`.",
    ),
    page(
        "tariff-meter",
        "A tariff is for a meter that is no meter of the supply.",
        "Write the id of a [[meter]] with measures = \"supply\", or take `meter` out of the tariff.",
    ),
];
