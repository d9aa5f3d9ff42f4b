//! Numbers of ways that cannot all be right.

use crate::model::connection::Connection;
use crate::model::node::Node;
use crate::model::site::{Circuit, Site};
use electrical::Phase;
use message::Message;

pub(super) fn doubts(site: &Site) -> Vec<Message> {
    let mut found = Vec::new();
    for (index, circuit) in site.circuits.iter().enumerate() {
        let Some(way) = circuit.way else { continue };
        let same = site.circuits[..index].iter().find(|other| {
            other.board == circuit.board
                && other.way == Some(way)
                && Phase::ALL
                    .into_iter()
                    .any(|phase| uses(other, phase) && uses(circuit, phase))
        });
        if let Some(other) = same {
            found.push(
                Message::warning(
                    "way-in-doubt",
                    format!(
                        "circuits `{}` and `{}` are both on way {way} of {}",
                        other.id,
                        circuit.id,
                        site.node_name(circuit.board)
                    ),
                )
                .note("way 3 is one way on each phase: 3 L1, 3 L2, 3 L3; each of them holds one circuit")
                .help("correct `way` or `phases` of one of them"),
            );
        }
        let Node::Board(board) = circuit.board else {
            continue;
        };
        let beyond = site.boards[board].ways.is_some_and(|ways| {
            Phase::ALL
                .into_iter()
                .any(|phase| uses(circuit, phase) && way > ways[phase.index()])
        });
        if beyond {
            found.push(
                Message::warning(
                    "way-in-doubt",
                    format!(
                        "circuit `{}` is on way {way}, and board `{}` has fewer on its phases",
                        circuit.id, site.boards[board].id
                    ),
                )
                .help("correct `way` of the circuit or `ways` of the board"),
            );
        }
    }
    found
}

fn uses(circuit: &Circuit, phase: Phase) -> bool {
    match circuit.phases {
        Connection::ThreePhase { .. } => true,
        Connection::ToNeutral(own) => own == phase,
        Connection::Between(pair) => {
            let (one, other) = pair.phases();
            one == phase || other == phase
        }
        Connection::Any | Connection::AnyPair | Connection::Unknown => false,
    }
}

#[cfg(test)]
mod tests {
    use crate::read_site;

    /// Two circuits of L1 and one of three phases on way 1, and one beyond the board's two ways of L2.
    #[test]
    fn ways_that_two_circuits_have_and_ways_that_a_board_has_not() {
        let folder = tempfile::tempdir().expect("a folder");
        let circuit = |id: &str, phases: &str, way: u32| {
            format!(
                "[[circuit]]\nid = \"{id}\"\nboard = \"D\"\nphases = \"{phases}\"\nway = {way}\n"
            )
        };
        let site = format!(
            "[site]\nname = \"t\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 63\n\
             [[board]]\nid = \"D\"\nfed_from = \"supply\"\nways = [4, 2, 4]\n{}{}{}{}",
            circuit("A", "L1", 1),
            circuit("B", "L2", 1),
            circuit("C", "L1-L2", 1),
            circuit("E", "L2", 3)
        );
        std::fs::write(folder.path().join("site.toml"), site).expect("written");
        std::fs::write(
            folder.path().join("machines.csv"),
            "machine,circuit,connection,power_kw\n",
        )
        .expect("written");
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let texts: Vec<String> = super::doubts(&site)
            .iter()
            .map(|message| message.text.clone())
            .collect();
        assert_eq!(
            texts,
            [
                "circuits `A` and `C` are both on way 1 of D",
                "circuit `E` is on way 3, and board `D` has fewer on its phases"
            ]
        );
    }
}
