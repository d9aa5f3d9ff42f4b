//! What the readings say that the list does not.

use num_complex::Complex64;

use super::ExpectedLoads;
use electrical::Phase;
use metering::Logs;
use site::Site;

/// A load that is not listed is named from this mean current on. (A)
const NAMED_A: f64 = 2.0;
/// Probability from which a load is said to be on another phase than listed.
const ELSEWHERE: f64 = 0.5;

impl ExpectedLoads {
    /// What the readings contradict or add, one sentence each.
    pub(crate) fn notes(&self, site: &Site, logs: &Logs) -> Vec<String> {
        let mut notes = Vec::new();
        let count = self.estimate.draws.len().max(1) as f64;
        for contradiction in &self.estimate.contradictions {
            let reading = &contradiction.reading;
            let round = &logs.rounds[reading.round];
            let at = round.at.with_timezone(&site.timezone);
            notes.push(format!(
                "the reading of {} A on {} of `{}` ({}) does not agree with the other readings and the list, which come to \
                 {} A: read it again",
                units::format_number(reading.amps, 1),
                Phase::ALL[reading.phase],
                self.place_name(site, reading.place),
                units::format_moment(at),
                units::format_number(contradiction.explained_a, 1),
            ));
        }
        for load in self.estimate.listed..self.loads.len() {
            for (round, read) in logs.rounds.iter().enumerate() {
                let own = &self.loads[load];
                let amps = own.on_a[0].map_or(0.0, Complex64::norm);
                let draws = self.estimate.draws.iter();
                let mean = draws.map(|draw| draw.in_round[round][load]).sum::<f64>() / count * amps;
                if mean >= NAMED_A {
                    let at = read.at.with_timezone(&site.timezone);
                    notes.push(format!(
                        "about {} A on {} of `{}` ({}) are more than the machines listed there explain: a load that is not \
                         listed, or one that draws more than its rating",
                        units::format_number(mean, 1),
                        Phase::ALL[own.turns.first()],
                        self.place_name(site, own.place),
                        units::format_moment(at),
                    ));
                }
            }
        }
        for (machine, listed) in site.machines.iter().enumerate() {
            let Some(load) =
                (0..self.loads.len()).find(|&load| self.machine[load] == Some(machine))
            else {
                continue;
            };
            let own = self.loads[load].turns.first();
            for phase in Phase::ALL.into_iter().filter(|phase| phase.index() != own) {
                let draws = self.estimate.draws.iter();
                let there = draws
                    .filter(|draw| draw.turns[load] == phase.index())
                    .count() as f64;
                if there / count > ELSEWHERE {
                    notes.push(format!(
                        "by the readings `{}` is rather on {phase} than on {}: look before it is moved",
                        listed.name,
                        Phase::ALL[own]
                    ));
                }
            }
        }
        notes
    }

    fn place_name<'s>(&self, site: &'s Site, place: usize) -> &'s str {
        let nodes = site.nodes();
        if let Some(&node) = nodes.get(place) {
            return site.node_name(node);
        }
        let load = (0..self.loads.len()).find(|&load| self.loads[load].place == place);
        let machine = load.and_then(|load| self.machine[load]);
        machine.map_or("", |machine| &site.machines[machine].name)
    }
}
