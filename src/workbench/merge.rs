//! Two changes of one list, each made from the same text: put together cell by cell, or what they disagree about.

use crate::list_grid::{ListGrid, is_same};

/// A cell that both have changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Disagreement {
    pub(crate) machine: String,
    pub(crate) column: String,
    /// As typed in the page.
    pub(crate) typed: String,
    /// As the file has it now.
    pub(crate) in_file: String,
}

/// Rows with what was typed and with what has changed in the file meanwhile.
pub(crate) fn merged(
    base: &ListGrid,
    file: &ListGrid,
    typed: &[Vec<String>],
) -> Result<Vec<Vec<String>>, Vec<Disagreement>> {
    let Some(name_at) = file.name_column().filter(|_| base.header == file.header) else {
        return Err(vec![Disagreement {
            machine: "all".to_owned(),
            column: "columns of the list".to_owned(),
            typed: base.header.join(", "),
            in_file: file.header.join(", "),
        }]);
    };
    let name = |cells: &[String]| cells.get(name_at).cloned().unwrap_or_default();
    let of_name = |list: &ListGrid, wanted: &str| -> Option<Vec<String>> {
        let row = list.rows.iter().find(|row| name(&row.cells) == wanted);
        row.map(|row| row.cells.clone())
    };
    let mut rows = Vec::new();
    let mut apart = Vec::new();
    for own in typed {
        let machine = name(own);
        match (of_name(base, &machine), of_name(file, &machine)) {
            (Some(was), Some(is)) => {
                rows.push(cells(&file.header, &machine, [&was, &is, own], &mut apart));
            }
            // Taken out of the file meanwhile: it stays out, unless it was changed here.
            (Some(was), None) if is_same(&was, own) => {}
            (Some(_), None) => apart.push(whole(&machine, "changed", "taken out")),
            (None, Some(is)) if is_same(&is, own) => rows.push(is),
            (None, Some(_)) => apart.push(whole(&machine, "new", "also new, and different")),
            (None, None) => rows.push(own.clone()),
        }
    }
    for row in &file.rows {
        let machine = name(&row.cells);
        if typed.iter().any(|own| name(own) == machine) {
            continue;
        }
        match of_name(base, &machine) {
            None => rows.push(row.cells.clone()),
            Some(was) if is_same(&was, &row.cells) => {}
            Some(_) => apart.push(whole(&machine, "taken out", "changed")),
        }
    }
    if apart.is_empty() {
        Ok(rows)
    } else {
        Err(apart)
    }
}

fn whole(machine: &str, typed: &str, in_file: &str) -> Disagreement {
    Disagreement {
        machine: machine.to_owned(),
        column: "the whole row".to_owned(),
        typed: typed.to_owned(),
        in_file: in_file.to_owned(),
    }
}

/// One row of three: as it was, as it is in the file, as it was typed.
fn cells(
    header: &[String],
    machine: &str,
    [was, is, own]: [&Vec<String>; 3],
    apart: &mut Vec<Disagreement>,
) -> Vec<String> {
    let cell = |row: &[String], at: usize| row.get(at).cloned().unwrap_or_default();
    let width = was.len().max(is.len()).max(own.len());
    (0..width)
        .map(|at| {
            let (was, is, own) = (cell(was, at), cell(is, at), cell(own, at));
            if own == was || own == is {
                return is;
            }
            if is != was {
                apart.push(Disagreement {
                    machine: machine.to_owned(),
                    column: cell(header, at),
                    typed: own.clone(),
                    in_file: is,
                });
            }
            own
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(text: &str) -> ListGrid {
        ListGrid::read(&format!("machine,circuit,power_kw\n{text}")).expect("a list")
    }

    fn rows(text: &str) -> Vec<Vec<String>> {
        list(text).rows.into_iter().map(|row| row.cells).collect()
    }

    #[test]
    fn changes_of_different_cells_are_put_together() {
        let base = list("saw,C1,2\ndrill,C1,1\noven,C2,3\n");
        let file = list("saw,C1,2\ndrill,C3,1\nlamp,C2,0.1\n");
        let typed = rows("saw,C1,4\ndrill,C1,1.5\noven,C2,3\nfan,C2,0.2\n");
        let all = merged(&base, &file, &typed).expect("no disagreement");
        assert_eq!(
            all,
            rows("saw,C1,4\ndrill,C3,1.5\nfan,C2,0.2\nlamp,C2,0.1\n")
        );
    }

    #[test]
    fn changes_of_one_cell_are_asked_about() {
        let base = list("saw,C1,2\ndrill,C1,1\n");
        let apart = merged(&base, &list("saw,C1,3\n"), &rows("saw,C1,4\ndrill,C2,1\n"));
        let apart = apart.expect_err("two disagreements");
        let said: Vec<(&str, &str, &str, &str)> = apart
            .iter()
            .map(|one| {
                (
                    one.machine.as_str(),
                    one.column.as_str(),
                    one.typed.as_str(),
                    one.in_file.as_str(),
                )
            })
            .collect();
        assert_eq!(
            said,
            [
                ("saw", "power_kw", "4", "3"),
                ("drill", "the whole row", "changed", "taken out")
            ]
        );
    }
}
