//! What is not logged is derived where physics allows, from the surest source to the weakest; each
//! column says which it was.
//!
//! The ladder, each rung only where those above give nothing:
//!
//! 1. active power: import less export; energy of the interval; sum of the phases; U·I·λ; S·λ;
//!    √(S² − Q²); steps of the register; drawn alone, as if nothing were returned (estimated);
//! 2. apparent power: U·I; √(P² + Q²); P/λ;
//! 3. reactive power: sum of the phases; energies of the interval; from P and λ; from P and S. Its
//!    sense is that of a signed power factor or of the registers, else lagging (estimated);
//! 4. power factor: P/S;
//! 5. current: S/U; S or P over the nominal voltage (estimated).
//!
//! In: a table of what is logged and what else is known of the meter ([`Ground`]). Out: the same table with the
//! columns that follow. Phase voltages never follow from line voltages: the star point need not be in their middle.

mod column;
mod current;
mod formulas;
mod powers;
mod reactive_sign;
mod register_power;

use self::column::add_from;
use self::current::current;
use self::powers::powers_of;
use self::register_power::register_power;
use crate::table::interval_table::IntervalTable;
use electrical::Phase;
use site::Quantity;

const PHASES: [Option<Phase>; 3] = [Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];

/// What is known of a meter besides its columns.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "independent facts, each with a name"
)]
pub(crate) struct Ground {
    /// What is measured is on three phases; otherwise the phases that are logged are all there are.
    pub(crate) three_phase: bool,
    /// Currents flow between phase and neutral (of one phase or in star).
    pub(crate) to_neutral: bool,
    /// Nominal voltage between phase and neutral. \[V\]
    pub(crate) phase_voltage_v: f64,
    /// The meter logs export.
    pub(crate) may_return: bool,
    /// A register is read at the end of the interval that its reading stands in, not at its start.
    pub(crate) register_closes: bool,
}

/// Adds derived columns to a table; what is logged is never replaced.
pub(crate) fn derive(table: &mut IntervalTable, ground: &Ground) {
    net_powers(table);
    energies_of_intervals(table);
    sum_of_registers(table);
    for place in PHASES {
        powers_of(table, place, ground);
    }
    for total in [Quantity::ActivePower, Quantity::ReactivePower] {
        sum_of_phases(table, total, ground.three_phase);
    }
    powers_of(table, None, ground);
    register_power(table, ground);
    drawn_alone(table);
    for phase in Phase::ALL {
        current(table, phase, ground);
    }
}

/// Drawn less returned, where both are logged.
fn net_powers(table: &mut IntervalTable) {
    for place in [None, PHASES[0], PHASES[1], PHASES[2]] {
        let sources = [
            Quantity::ActivePowerImport(place),
            Quantity::ActivePowerExport(place),
        ];
        add_from(
            table,
            Quantity::ActivePower(place),
            &sources,
            None,
            |values| Some(values[0]? - values[1]?),
        );
    }
}

/// Powers from energies logged interval by interval.
fn energies_of_intervals(table: &mut IntervalTable) {
    let per_hour = 3600.0 / f64::from(table.interval_s());
    let both = [Quantity::EnergyInterval, Quantity::EnergyExportInterval];
    add_from(table, Quantity::ActivePower(None), &both, None, |values| {
        Some((values[0]? - values[1]?) * per_hour)
    });
    if !table.has(Quantity::EnergyInterval) {
        let export = [Quantity::EnergyExportInterval];
        add_from(
            table,
            Quantity::ActivePower(None),
            &export,
            Some("import is not logged: assumed zero"),
            |values| Some(-values[0]? * per_hour),
        );
    }
    let energy = [Quantity::EnergyInterval];
    add_from(
        table,
        Quantity::ActivePower(None),
        &energy,
        None,
        |values| Some(values[0]? * per_hour),
    );
    let reactive = Quantity::ReactivePower(None);
    let (lagging, leading) = (
        Quantity::ReactiveEnergyInterval,
        Quantity::ReactiveEnergyExportInterval,
    );
    add_from(table, reactive, &[lagging, leading], None, |values| {
        Some((values[0]? - values[1]?) * per_hour)
    });
    let assumption = "leading reactive energy is not logged: assumed zero";
    add_from(table, reactive, &[lagging], Some(assumption), |values| {
        Some(values[0]? * per_hour)
    });
}

/// The register of a meter that has one for each phase.
fn sum_of_registers(table: &mut IntervalTable) {
    let phases = PHASES.map(Quantity::EnergyImport);
    add_from(
        table,
        Quantity::EnergyImport(None),
        &phases,
        None,
        |values| Some(values[0]? + values[1]? + values[2]?),
    );
}

/// The total of the phases: of all three, or of those that there are.
fn sum_of_phases(
    table: &mut IntervalTable,
    total: fn(Option<Phase>) -> Quantity,
    three_phase: bool,
) {
    let logged: Vec<Quantity> = PHASES
        .map(total)
        .into_iter()
        .filter(|&phase| table.has(phase))
        .collect();
    if logged.len() == 3 || !three_phase && !logged.is_empty() {
        add_from(table, total(None), &logged, None, |values| {
            values.iter().copied().sum()
        });
    }
}

/// Drawn power where nothing is known of export.
fn drawn_alone(table: &mut IntervalTable) {
    let assumption = Some("export is not logged: assumed zero");
    for place in [None, PHASES[0], PHASES[1], PHASES[2]] {
        let drawn = [Quantity::ActivePowerImport(place)];
        add_from(
            table,
            Quantity::ActivePower(place),
            &drawn,
            assumption,
            |values| values[0],
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intervals::closed_columns::GatheredColumn;

    fn table(columns: &[(Quantity, f64)]) -> IntervalTable {
        let columns = columns
            .iter()
            .map(|(quantity, value)| GatheredColumn::new(quantity.name(), vec![Some(*value), None]))
            .collect();
        IntervalTable::new(vec![0, 900], 900, columns)
    }

    fn ground(three_phase: bool) -> Ground {
        Ground {
            three_phase,
            to_neutral: true,
            phase_voltage_v: 230.0,
            may_return: false,
            register_closes: true,
        }
    }

    #[test]
    fn one_phase_is_the_total_of_a_single_phase_load_only() {
        let l1 = Quantity::ActivePower(Some(Phase::L1));
        let mut single = table(&[(l1, 2.0)]);
        derive(&mut single, &ground(false));
        let total = Quantity::ActivePower(None);
        assert_eq!(all(&single, total), [Some(2.0), None]);
        let mut board = table(&[(l1, 2.0)]);
        derive(&mut board, &ground(true));
        assert!(!board.has(total));
    }

    #[test]
    fn three_phases_make_the_total() {
        let mut board = table(&[
            (Quantity::ActivePower(Some(Phase::L1)), 2.0),
            (Quantity::ActivePower(Some(Phase::L2)), 3.0),
            (Quantity::ActivePower(Some(Phase::L3)), -1.0),
        ]);
        derive(&mut board, &ground(true));
        assert_eq!(all(&board, Quantity::ActivePower(None)), [Some(4.0), None]);
    }

    fn all(table: &IntervalTable, quantity: Quantity) -> Vec<Option<f64>> {
        table.values(quantity).expect("a column").to_vec()
    }

    fn first(table: &IntervalTable, quantity: Quantity) -> f64 {
        all(table, quantity)[0].expect("a value")
    }

    /// 230 V · 10 A = 2.3 kVA; at 0.8 they are 1.84 kW and 1.38 kvar.
    #[test]
    fn powers_follow_from_voltage_current_and_factor() {
        let l1 = Some(Phase::L1);
        let columns = [
            (Quantity::Voltage(Phase::L1), 230.0),
            (Quantity::Current(Phase::L1), 10.0),
            (Quantity::PowerFactor(l1), 0.8),
        ];
        let mut single = table(&columns);
        derive(&mut single, &ground(false));
        assert!((first(&single, Quantity::ActivePower(None)) - 1.84).abs() < 1e-9);
        assert!((first(&single, Quantity::ReactivePower(None)) - 1.38).abs() < 1e-9);
        assert!((first(&single, Quantity::ApparentPower(l1)) - 2.3).abs() < 1e-9);
        let origin = |quantity| single.origin(quantity).map(|origin| origin.name());
        assert_eq!(origin(Quantity::ActivePower(l1)), Some("derived"));
        // Nothing says whether it lags, and what follows from an estimate is one.
        assert_eq!(origin(Quantity::ReactivePower(l1)), Some("estimated"));
        assert_eq!(origin(Quantity::ReactivePower(None)), Some("estimated"));
        assert_eq!(origin(Quantity::PowerFactor(l1)), Some("measured"));
    }

    /// A negative factor distinguishes leading from lagging: the sign is known and nothing is assumed.
    #[test]
    fn a_signed_factor_gives_the_sense_of_reactive_power() {
        let l1 = Some(Phase::L1);
        let mut single = table(&[
            (Quantity::ActivePower(l1), 3.0),
            (Quantity::PowerFactor(l1), -0.6),
        ]);
        derive(&mut single, &ground(false));
        assert!((first(&single, Quantity::ReactivePower(l1)) + 4.0).abs() < 1e-9);
        let origin = single.origin(Quantity::ReactivePower(l1));
        assert_eq!(origin.map(|origin| origin.name()), Some("derived"));
    }

    /// 100, 101, 103 and, after a gap, 110 kWh on the hour: 1 and 2 kW in the hours that end there.
    #[test]
    fn power_follows_from_a_register_where_nothing_else_is_logged() {
        let counts = [100.0, 101.0, 103.0, 110.0].map(Some).to_vec();
        let column = GatheredColumn::new(Quantity::EnergyImport(None).name(), counts);
        let mut meter = IntervalTable::new(vec![0, 3600, 7200, 36_000], 3600, vec![column]);
        derive(&mut meter, &ground(true));
        let power = all(&meter, Quantity::ActivePower(None));
        assert_eq!(power, [None, Some(1.0), Some(2.0), None]);
        assert!(meter.is_of_register(Quantity::ActivePower(None)));
    }
}
