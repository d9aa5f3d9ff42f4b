//! Everything at Ferry Lane that draws current, in the order of the machine list.

use super::behaviour::{Behaviour, Charger, Cycle, Extraction, Hands, Lights, Machine, Thermostat};
use super::calendar::Hours;
use super::chance::Chance;
use super::load::{Draw, Load, Nature, Place, Tap};

const ALWAYS: Hours = Hours::new(&[(0, 6, 0.0, 24.0)]).also_on_holidays();
const DAY: Hours = Hours::new(&[(0, 4, 7.5, 16.0)]);
const HEATING: Hours = Hours::new(&[(0, 4, 6.0, 15.5)]);
const SHED: Hours = Hours::new(&[(0, 4, 8.0, 17.0), (5, 5, 8.0, 12.5)]);
const STEAMING: Hours = Hours::new(&[(1, 1, 7.5, 11.5), (3, 3, 7.5, 11.5)]);
const EVENING: Hours = Hours::new(&[(0, 4, 16.0, 20.0)]);
const NIGHT: Hours = Hours::new(&[(0, 6, 22.0, 6.0)]);
const DARK: Hours = Hours::new(&[(0, 6, 19.0, 6.5)]).also_on_holidays();
const AFTERNOON: Hours = Hours::new(&[(0, 4, 13.0, 16.5)]);
const OFFICE: Hours = Hours::new(&[(0, 4, 8.5, 17.5)]);

const L1: Tap = Tap::Neutral(0);
const L2: Tap = Tap::Neutral(1);
const L3: Tap = Tap::Neutral(2);

fn motor(power_factor: f64) -> Nature {
    Nature::Motor { power_factor }
}

fn electronic(power_factor: f64) -> Nature {
    Nature::Electronic { power_factor }
}

/// Puts loads on the list one by one and gives each its own stream of chance.
struct List {
    seed: u64,
    place: Place,
    loads: Vec<Load>,
}

impl List {
    fn put(
        &mut self,
        name: &'static str,
        tap: Tap,
        rated_w: f64,
        nature: Nature,
        behaviour: impl Behaviour + 'static,
    ) -> &mut Load {
        let stream = self.loads.len() as u64;
        self.loads.push(Load {
            name,
            place: self.place,
            tap,
            rated_w,
            nature,
            third_harmonic: 0.0,
            makes_chips: false,
            listed: true,
            behaviour: Box::new(behaviour),
            chance: Chance::new(self.seed, stream),
            share: 0.0,
            draw: Draw::default(),
        });
        self.loads.last_mut().expect("one was just put there")
    }

    fn chips(&mut self, name: &'static str, rated_w: f64, pf: f64, machine: Machine) {
        self.put(name, Tap::ThreePhase, rated_w, motor(pf), machine)
            .makes_chips = true;
    }
}

/// All loads; the last three are not on the machine list.
pub(crate) fn loads(seed: u64) -> Vec<Load> {
    let mut list = List {
        seed,
        place: Place::Db1,
        loads: Vec::new(),
    };
    joinery(&mut list);
    list.place = Place::Db2;
    boat_shed(&mut list);
    list.place = Place::Supply;
    office(&mut list);
    list.loads
}

fn joinery(list: &mut List) {
    let machine = |job, pause, cutting| Machine::new(DAY, job, pause, 0.22, cutting);
    list.chips("Sliding panel saw", 6250.0, 0.86, machine(7.0, 14.0, 0.75));
    list.chips("Planer-thicknesser", 6300.0, 0.85, machine(12.0, 38.0, 0.8));
    list.chips("Spindle moulder", 4600.0, 0.84, machine(15.0, 60.0, 0.7));
    list.chips("Bandsaw Old Meg", 2650.0, 0.80, machine(5.0, 25.0, 0.7));
    list.chips("Wide-belt sander", 8400.0, 0.86, machine(10.0, 65.0, 0.75));
    list.put(
        "Chip extraction",
        Tap::ThreePhase,
        8400.0,
        motor(0.87),
        Extraction::default(),
    );
    list.put(
        "Workshop compressor",
        Tap::ThreePhase,
        4700.0,
        motor(0.83),
        Cycle::new(DAY, 3.5, 7.0, (0.92, 0.0)),
    );
    list.put(
        "Bench hall heaters",
        L1,
        6000.0,
        Nature::Heater,
        Thermostat::new(HEATING, 17.0, 21.0, 2.6),
    );
    list.put(
        "Varnish room heater",
        L2,
        3000.0,
        Nature::Heater,
        Thermostat::new(ALWAYS, 19.0, 29.0, 3.5),
    );
    list.put(
        "Joinery lights",
        L1,
        1600.0,
        electronic(0.95),
        Lights::new(Hours::new(&[(0, 4, 7.0, 16.5)])),
    )
    .third_harmonic = 0.25;
    list.put(
        "Bench sockets",
        L2,
        2000.0,
        motor(0.92),
        Hands::new(DAY, 150.0, 240.0, (0.25, 0.9)),
    );
    list.put(
        "Sanding vacuums",
        L3,
        2400.0,
        electronic(0.95),
        Hands::new(DAY, 600.0, 720.0, (0.5, 1.0)),
    )
    .third_harmonic = 0.20;
    list.put(
        "Glue press platen",
        L1,
        1800.0,
        Nature::Heater,
        Cycle::new(DAY, 6.0, 4.0, (1.0, 0.0)),
    );
    list.put(
        "Tool battery chargers",
        L1,
        1400.0,
        electronic(0.96),
        Charger::new(EVENING, 1.0, (1.2, 2.6)),
    )
    .third_harmonic = 0.60;
    list.put(
        "Cutter grinder",
        L3,
        1100.0,
        motor(0.75),
        Hands::new(DAY, 400.0, 3600.0, (0.5, 0.9)),
    );
    list.put(
        "Timber kiln",
        L1,
        2200.0,
        motor(0.87),
        Cycle::new(ALWAYS, 14.0, 6.0, (0.95, 0.14)),
    );
}

fn boat_shed(list: &mut List) {
    list.put(
        "Shed heater port",
        L1,
        3000.0,
        Nature::Heater,
        Thermostat::new(HEATING, 14.0, 16.5, 2.4),
    );
    list.put(
        "Shed heater starboard",
        L3,
        3000.0,
        Nature::Heater,
        Thermostat::new(HEATING, 13.0, 18.0, 2.1),
    );
    list.put(
        "Shed lights",
        L1,
        1200.0,
        electronic(0.94),
        Lights::new(SHED),
    )
    .third_harmonic = 0.30;
    list.put(
        "Slipway and yard lights",
        L1,
        600.0,
        electronic(0.94),
        Lights::new(DARK),
    )
    .third_harmonic = 0.30;
    list.put(
        "Launch charger",
        L1,
        3300.0,
        electronic(0.98),
        Charger::new(NIGHT, 0.85, (3.5, 6.5)),
    )
    .third_harmonic = 0.22;
    list.put(
        "Steam box",
        L1,
        3000.0,
        Nature::Heater,
        Cycle::new(STEAMING, 25.0, 3.0, (1.0, 0.0)),
    );
    list.put(
        "Epoxy cupboard",
        L3,
        900.0,
        Nature::Heater,
        Thermostat::new(ALWAYS, 24.0, 34.0, 1.5),
    );
    list.put(
        "Stick welder",
        Tap::Between(0, 1),
        6500.0,
        motor(0.72),
        Hands::new(SHED, 60.0, 900.0, (0.6, 1.0)),
    );
    list.put(
        "Wire welder",
        L3,
        3400.0,
        motor(0.82),
        Hands::new(SHED, 50.0, 400.0, (0.5, 1.0)),
    );
    list.put(
        "Pressure washer",
        L2,
        2300.0,
        motor(0.90),
        Hands::new(SHED, 420.0, 3000.0, (0.85, 0.95)),
    );
    list.put(
        "Paint fan",
        L3,
        1100.0,
        electronic(0.96),
        Hands::new(AFTERNOON, 2400.0, 1500.0, (0.6, 0.95)),
    )
    .third_harmonic = 0.65;
    list.put(
        "Slipway winch",
        Tap::ThreePhase,
        3600.0,
        motor(0.80),
        Hands::new(SHED, 200.0, 7200.0, (0.5, 1.0)),
    );
}

fn office(list: &mut List) {
    let office = list.put(
        "Office",
        L3,
        1300.0,
        electronic(0.95),
        Cycle::new(OFFICE, 20.0, 10.0, (0.95, 0.6)),
    );
    office.third_harmonic = 0.5;
    office.listed = false;
    let kettle = list.put(
        "Mess room",
        L2,
        2800.0,
        Nature::Heater,
        Hands::new(OFFICE, 200.0, 2700.0, (0.7, 1.0)),
    );
    kettle.listed = false;
    let fridge = list.put(
        "Fridge, alarm and router",
        L2,
        260.0,
        electronic(0.90),
        Cycle::new(ALWAYS, 12.0, 22.0, (0.8, 0.25)),
    );
    fridge.listed = false;
}
