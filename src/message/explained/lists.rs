//! Messages about the machine list, readings, variables and invoices.

use super::{Explained, page};

pub(super) const PAGES: &[Explained] = &[
    page(
        "no-sites",
        "The folder of an estate has no site at any depth, or its estate.toml lists none.",
        "Name the folder that holds the sites. A site is a folder with site.toml, or a workbook with a sheet for the supply.",
    ),
    page(
        "site-listed-twice",
        "Two entries of estate.toml name one site.",
        "Take one of the two out.",
    ),
    page(
        "outside-estate",
        "A path of estate.toml does not lead to a folder below that of the estate.",
        "Write the path from the folder of estate.toml, without `..` and without a `/` at its beginning.",
    ),
    page(
        "above-load-share",
        "The utilisation factor of a machine is above its load share: its mean load would be more than it draws while it is on.",
        "Correct one of the two. Leave load_share out for a machine that draws its rating while it is on.",
    ),
    page(
        "single-phase-neutral",
        "A load between one phase and neutral is listed without neutral current.",
        "Leave the cell neutral empty. Only a load on three phases may have no neutral; one between two phases is connected L1-L2, L2-L3 or L3-L1.",
    ),
    page(
        "carbon-factor",
        "A carbon factor is not a number of g/kWh from 0 to 5000.",
        "Write the factor alone, with a decimal point.",
    ),
    page(
        "not-a-time",
        "A time in the file of carbon factors cannot be read.",
        "Write a local time such as 2026-03-09 10:30, or one with its offset.",
    ),
    page(
        "cannot-read",
        "The operating system does not let the file be read.",
        "Check that it exists, that you may read it, and that no other program keeps it locked.",
    ),
    page(
        "connection",
        "The connection of a machine is not one that the program knows.",
        "Write L1, L2, L3, L1-L2, L2-L3, L3-L1 or 3ph. Where the phase is not decided, write any for one phase to neutral, or any-2 for two phases; unknown where it is installed and nobody knows the phase.",
    ),
    page(
        "duplicate-column",
        "A column appears twice in the header.",
        "Remove one of the two.",
    ),
    page(
        "duplicate-date",
        "A day, week or month appears in two rows of a variable.",
        "Keep one row for each.",
    ),
    page(
        "duplicate-key",
        "A row appears twice on the sheet Supply.",
        "Keep one of the two.",
    ),
    page(
        "duplicate-machine",
        "Two machines have the same name.",
        "Give each row its own name. Equal machines can be one row with a quantity.",
    ),
    page(
        "duplicate-reading",
        "A place has two readings in one round.",
        "Remove one of the rows, or give each round its own time, or its own word in the column round.",
    ),
    page(
        "efficiency-class",
        "The efficiency class of a motor is not known.",
        "Write IE1, IE2 or IE3, or give its efficiency instead.",
    ),
    page(
        "empty-cell",
        "A cell that must have a value is empty.",
        "Fill in the cell that the message names.",
    ),
    page(
        "empty-file",
        "The file has no content, not even a header.",
        "Write the header that the message shows as its first line.",
    ),
    page(
        "invoice-column",
        "An invoice has a column that is not known, or one that appears twice.",
        "Use line, from, to, quantity, unit, rate, amount and note. Columns of your own begin with x_.",
    ),
    page(
        "keep-with",
        "Machines that must stay together cannot be on the same phase as listed.",
        "Give all machines with the same word in keep_with the same connection, or different words.",
    ),
    page(
        "missing-column",
        "A file lacks a column that it must have.",
        "Add the column. `tapoff explain` lists the columns of each file.",
    ),
    page(
        "missing-efficiency",
        "A motor has the output at its shaft, but no efficiency, so that its input is not known.",
        "Add the column efficiency, such as 0.89, from the rating plate; or write its input as power_kw.",
    ),
    page(
        "missing-file",
        "A site folder lacks a file that it must have.",
        "A site has site.toml and machines.csv. `tapoff new FOLDER` writes both.",
    ),
    page(
        "missing-length",
        "A machine's own cable has a cross-sectional area, but no length.",
        "Add the column cable_m.",
    ),
    page(
        "missing-rating",
        "A machine has no rating.",
        "Write one of power_kw, apparent_kva, current_a and shaft_kw from the rating plate.",
    ),
    page(
        "missing-reading",
        "A reading lacks the current of a phase that the place has.",
        "Read all phases of a board or circuit. Leave the row out where you could not.",
    ),
    page(
        "no-invoice-line",
        "The invoice has a header, but no line.",
        "Write one row for each line of the invoice.",
    ),
    page(
        "no-machine",
        "A list of new machines has no row.",
        "Write one row for each machine that is to be connected.",
    ),
    page(
        "no-machine-sheet",
        "No sheet of the workbook has the columns of a machine list.",
        "Call the sheet machines, with the columns machine, circuit, connection and power_kw in its first row.",
    ),
    page(
        "no-readings",
        "The file of readings has a header and no row.",
        "Write one row for each place that was read, or remove the file. `tapoff readings SITE` writes a sheet to fill in.",
    ),
    page(
        "switching-state",
        "A switching test is neither on nor off.",
        "Write on or off into the column `state`.",
    ),
    page(
        "two-switching-files",
        "The site has more than one file of switching tests.",
        "Keep one of them; call the others something else.",
    ),
    page(
        "unknown-machine",
        "A file names a machine that the machine list does not have.",
        "Write its name as in the list.",
    ),
    page(
        "phase-found",
        "The list says `unknown` for the phase of a machine, and the logs show it with a probability of 95 % or more.",
        "Check it at the board and write it into the column `connection`. `tapoff phases SITE` shows what it rests on.",
    ),
    page(
        "phase-unknown",
        "The list says `unknown` for the phase of a machine, and nothing that was measured shows it.",
        "`tapoff phases SITE` shows what would settle it. Until then no plan moves the machine.",
    ),
    page(
        "no-sheet",
        "A site in one workbook lacks a sheet that it must have.",
        "A workbook holds a site with the sheets Supply and Machines; Boards, Circuits, Schedules, Readings and Tariff may be added. `tapoff new mill --workbook` writes one.",
    ),
    page(
        "no-such-folder",
        "There is no folder of this name.",
        "Check the name, and the folder in which the command is run.",
    ),
    page(
        "not-a-folder",
        "A site is a folder, and this is a file.",
        "Name the folder that contains site.toml, not a file in it.",
    ),
    page(
        "not-a-number",
        "A cell should be a number and is not.",
        "Write the number alone, in the unit of its column, or with its own unit behind it.",
    ),
    page(
        "not-a-spreadsheet",
        "The workbook cannot be read: it is damaged, protected by a password, or of another kind.",
        "Save it again as .xlsx or .ods, or save the list as machines.csv.",
    ),
    page(
        "not-on-circuit",
        "A machine is connected to phases that its circuit does not have.",
        "Correct the machine's connection or circuit, or the circuit's phases.",
    ),
    page(
        "not-text",
        "The file is not a text file, but a workbook, archive, document or image, whatever its name says.",
        "Export it as CSV. A machine list may also be a workbook: call it machines.xlsx or machines.ods.",
    ),
    page(
        "not-utf-8",
        "The file has characters that are not UTF-8.",
        "Save it as CSV or text in UTF-8.",
    ),
    page(
        "open-and-fixed",
        "A machine has no phase yet, but may not be moved.",
        "Write the phase that it is on, or movable = yes.",
    ),
    page(
        "power-factor-range",
        "The power factor is not from 0.05 to 1.",
        "Write it as a share: 0.82, not 82. A leading one is written 0.95 lead.",
    ),
    page(
        "start",
        "The way a machine starts is not known.",
        "Write direct, star-delta, soft or none.",
    ),
    page(
        "too-many-cells",
        "A row has more cells than the header.",
        "Put a text that contains the separator in straight quotation marks, and write numbers with a decimal point.",
    ),
    page(
        "cable-in-doubt",
        "The cross-sectional area of a cable does not fit the device that protects it, or its own current-carrying capacity.",
        "Check area and rating on site. A cable far larger than its device needs is rare even where the voltage drop decides.",
    ),
    page(
        "device-above-cable",
        "A protective device does not protect its cable against overload by IEC 60364-4-43: its rated current is above the cable's capacity, or it operates at more than 1.45 times that. A semi-enclosed fuse (BS 3036) needs a capacity of its rating / 0.725.",
        "Check rating, area, capacity and derating on site; a smaller device or a larger cable is needed where they are right.",
    ),
    page(
        "no-machines",
        "The machine list has no row.",
        "Write one row for each load.",
    ),
    page(
        "rating-in-doubt",
        "A machine draws more at its rating than its device, circuit, board or supply carries.",
        "Check the rating and its unit (W or kW), the quantity, and where the machine is connected.",
    ),
    page(
        "export-in-doubt",
        "A reading is negative, so that the current flows back to the source, and nothing that generates is listed at that place.",
        "Add what generates to the machine list with role = generation. A clamp meter for alternating current shows no direction: write the reading without sign where the direction is not known from elsewhere.",
    ),
    page(
        "reading-above-ratings",
        "A clamp-meter reading is more than 30 % and 1 A above what is listed at that place.",
        "Look for a load that is not in the list, or on another phase or circuit than listed, and check ratings.",
    ),
    page(
        "unusual-voltage",
        "The line-to-line voltage makes a voltage to neutral that no usual supply has: 230 V was perhaps meant to neutral.",
        "Write the nominal voltage between two phases, such as 400 for 230 V to neutral.",
    ),
    page(
        "use-in-doubt",
        "The use of a circuit is a word like lighting, but not that word, and has no effect.",
        "Write use = \"lighting\" where the smaller voltage drop applies.",
    ),
    page(
        "way-in-doubt",
        "Two circuits have the same way of a board on the same phase, or a way has a higher number than the board has ways.",
        "Correct way or phases of the circuit, or ways of the board.",
    ),
    page(
        "utilisation-in-doubt",
        "A machine was on in far more or fewer rounds of readings than its utilisation factor makes likely.",
        "Correct utilisation_factor, load_share or the schedule. Where the rounds were taken at chosen times, such as when all runs, nothing is wrong.",
    ),
    page(
        "marks-and-blanks",
        "A column of yes and no has marks and empty cells: an empty cell may be no, or not filled in.",
        "Write yes or no in each cell.",
    ),
    page(
        "no-unit",
        "A column of ratings has no unit, and its cells have none either.",
        "Write the unit into the header, such as Power (kW), or behind each number.",
    ),
    page(
        "percent-or-share",
        "A column in per cent of a workbook has no number above 1 and no per-cent format: 0.2 may be 0.2 % or 20 %.",
        "Write the per-cent sign behind the number, or give the cells a per-cent format.",
    ),
    page(
        "phase-in-doubt",
        "The phase of a load may be read in two ways: B is blue or the second of A, B, C; black and blue are a phase in one colour code and the neutral in another; 3 is L3 or three phases.",
        "Write L1, L2 or L3, 3ph, or any. conductor_colours in site.toml says what marks the conductors on site, where colours are meant.",
    ),
    page(
        "two-readings",
        "A number may be either of two: 1,500 is one and a half, or fifteen hundred.",
        "Write it with a decimal point, or without groups of thousands.",
    ),
    page(
        "two-readings-files",
        "The site has several files of clamp-meter readings.",
        "Keep one of them, and rename the others.",
    ),
    page(
        "two-machine-lists",
        "The site has several machine lists.",
        "Keep one of them, and rename the others.",
    ),
    page(
        "two-ratings",
        "A machine has more than one rating.",
        "Keep one of power_kw, apparent_kva, current_a and shaft_kw, and leave the others empty.",
    ),
    page(
        "unknown-circuit",
        "A machine is on a circuit or board that is not in site.toml.",
        "Write the id of a [[circuit]] or [[board]]; capitals matter.",
    ),
    page(
        "unknown-column",
        "The file has a column that the program does not know.",
        "Correct its name. Columns of your own begin with x_.",
    ),
    page(
        "unknown-meter",
        "A machine names a meter that is not in site.toml.",
        "Write the id of a [[meter]], or leave the cell empty.",
    ),
    page(
        "unknown-schedule",
        "A machine names a schedule that is not in site.toml.",
        "Write the name of a [[schedule]], or leave the cell empty for a machine that is always on.",
    ),
    page(
        "whole-number",
        "A quantity of machines is not a whole number.",
        "Write 1, 2, 3 and so on.",
    ),
    page(
        "wrong-phase",
        "A machine has a reading on a phase that it is not connected to.",
        "Put the reading into the column of its phase, or correct the machine's connection.",
    ),
    page(
        "unknown-role",
        "A machine's role is neither load nor generation.",
        "Write load for what draws power, generation for what gives it (photovoltaic inverter, generator), or leave the cell empty for a load.",
    ),
    page(
        "yes-or-no",
        "The cell should be yes or no.",
        "Write yes or no.",
    ),
    page(
        "tariff-row",
        "A row of the sheet Tariff names no charge that a tariff has, or prices it by something that it is not priced by.",
        "Choose one of the words that the message lists.",
    ),
];
