use super::*;
use approx::assert_relative_eq;
use electrical::Phase;
use site::Quantity;

fn current() -> Quantity {
    Quantity::Current(Phase::L1)
}

type Named = (String, Vec<Option<f64>>);

fn whole(intervals: Intervals) -> (Vec<i64>, Vec<Named>) {
    let (bins, columns) = intervals.finish(|bin| bin, (i64::MIN, i64::MAX));
    (
        bins,
        columns
            .into_iter()
            .flat_map(GatheredColumn::figures)
            .collect(),
    )
}

fn column(columns: &[Named], name: &str) -> Vec<Option<f64>> {
    let mut named = columns.iter().filter(|column| column.0 == name);
    named.next().expect("column is there").1.clone()
}

#[test]
fn fast_samples_become_mean_extremes_and_mean_square() {
    let mut intervals = Intervals::new(Shape::new(&[current()], true));
    for value in [3.0, 4.0, f64::NAN, 5.0] {
        intervals.add(7, &[value]);
    }
    assert_eq!(intervals.numbers(), [3]);
    let (bins, columns) = whole(intervals);
    assert_eq!(bins, [7]);
    assert_eq!(column(&columns, "current_l1_a"), [Some(4.0)]);
    assert_eq!(column(&columns, "current_l1_a_min"), [Some(3.0)]);
    assert_eq!(column(&columns, "current_l1_a_max"), [Some(5.0)]);
    let square = column(&columns, "current_l1_a_mean_square")[0].expect("three samples");
    assert_relative_eq!(square, 50.0 / 3.0, max_relative = 1e-7);
}

/// Three equal loads that take turns: at every moment one phase carries 12 A and so does the
/// neutral (Kirchhoff), while the mean currents of 4 A each would cancel.
#[test]
fn loads_that_take_turns_show_in_the_computed_neutral() {
    let quantities = Phase::ALL.map(Quantity::Current);
    let mut intervals = Intervals::new(Shape::new(&quantities, true));
    for sample in 0..60 {
        let mut values = [0.0; 3];
        values[sample % 3] = 12.0;
        intervals.add(0, &values);
    }
    let (_, columns) = whole(intervals);
    for (name, expected) in [
        ("current_n_computed_a", 12.0),
        ("current_n_computed_a_max", 12.0),
        ("current_n_computed_a_mean_square", 144.0),
    ] {
        let value = column(&columns, name)[0].expect("samples");
        assert_relative_eq!(value, expected, max_relative = 1e-6);
    }
}

#[test]
fn a_second_reading_of_a_slow_log_is_told_apart() {
    let voltage = Quantity::Voltage(Phase::L1);
    let mut intervals = Intervals::new(Shape::new(&[current(), voltage], false));
    for (bin, amps, volts) in [
        (1, 2.0, f64::NAN),
        (1, 2.0, f64::NAN),
        (1, 2.5, 230.0),
        (1, f64::NAN, 231.0),
        (2, f64::NAN, 232.0),
    ] {
        intervals.add(bin, &[amps, volts]);
    }
    let met = intervals.settle();
    assert_eq!(met, [(1, Fate::Repeated, 1), (1, Fate::Contradicted, 1)]);
    let (bins, columns) = whole(intervals);
    assert_eq!(bins, [1, 2]);
    assert_eq!(columns[0].1, [Some(2.0), None]);
    assert_eq!(columns[1].1, [Some(231.0), Some(232.0)]);
}

#[test]
fn intervals_that_come_late_are_sorted_in() {
    let mut intervals = Intervals::new(Shape::new(&[current()], false));
    for bin in [5, 3, 4, 1, 3] {
        intervals.add(bin, &[bin as f64]);
    }
    assert_eq!(intervals.settle(), [(3, Fate::Repeated, 1)]);
    let (bins, columns) = whole(intervals);
    assert_eq!(bins, [1, 3, 4, 5]);
    assert_eq!(columns[0].1, [1.0, 3.0, 4.0, 5.0].map(Some));
}

/// What a log of 14 columns keeps: at most 160 bytes an interval, however many samples.
#[test]
fn fourteen_columns_take_at_most_160_bytes_an_interval() {
    let mut quantities = Vec::new();
    quantities.extend(Phase::ALL.map(Quantity::Voltage));
    quantities.extend(Phase::ALL.map(Quantity::Current));
    quantities.extend(Phase::ALL.map(|phase| Quantity::ActivePower(Some(phase))));
    quantities.extend(Phase::ALL.map(|phase| Quantity::ReactivePower(Some(phase))));
    quantities.extend([Quantity::NeutralCurrent, Quantity::EnergyImport(None)]);
    let shape = Shape::new(&quantities, true);
    let per_interval = |samples: i64, intervals: i64| {
        let mut all = Intervals::new(shape.clone());
        for chunk in 0..intervals / 500 {
            let mut part = Intervals::new(shape.clone());
            for at in chunk * 500 * samples..(chunk + 1) * 500 * samples {
                part.add(at / samples, &[at as f64 % 100.0; 14]);
            }
            all.merge(part);
        }
        all.bytes() as f64 / intervals as f64
    };
    // An eighth of room to grow at most.
    let measured = [per_interval(2, 20_000), per_interval(8, 20_000)];
    assert!(measured[0] <= 160.0 * 1.125, "{measured:?}");
    assert_relative_eq!(measured[0], measured[1]);
    let mut exact = Intervals::new(shape);
    exact.add(0, &[1.0; 14]);
    exact.settle();
    let row: usize = exact
        .columns
        .iter()
        .map(|kept| {
            let keeping = kept.keeping;
            let figures = [keeping.min, keeping.max, keeping.mean_square];
            let singles = figures.into_iter().filter(|kept| *kept).count();
            4 * singles + if keeping.double { 8 } else { 4 }
        })
        .sum();
    assert_eq!(row + size_of::<u32>() + size_of::<Span>(), 160);
}

#[test]
fn a_log_that_jumps_back_and_forth_does_not_grow_with_its_rows() {
    let shape = Shape::new(&[current(), Quantity::EnergyImport(None)], true);
    let mut all = Intervals::new(shape.clone());
    for _ in 0..100 {
        let mut part = Intervals::new(shape.clone());
        for row in 0..1000 {
            part.add(row % 2 * 1440, &[5.0, row as f64]);
        }
        all.merge(part);
    }
    assert!(all.bins.len() < 2 * UNSETTLED);
    let (bins, columns) = whole(all);
    assert_eq!(bins, [0, 1440]);
    assert_eq!(column(&columns, "current_l1_a"), [Some(5.0), Some(5.0)]);
    assert_eq!(
        column(&columns, "energy_import_kwh"),
        [Some(998.0), Some(999.0)]
    );
}
