//! Is the interval of the extra resistance as honest as it says? Invented logs with known truth.

mod simulate;

use rayon::prelude::*;
use simulate::{Chance, Scene, simulate};
use tapoff::diagnosis::joint::estimate;

#[test]
#[ignore = "trial"]
fn trial() {
    let count: u64 = std::env::var("N")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(60);
    let only: Option<u64> = std::env::var("SEED").ok().and_then(|n| n.parse().ok());
    let rows: Vec<String> = only.map_or(0..count, |s| s..s+1)
        .into_par_iter()
        .map(|seed| {
            let mut chance = Chance::new(seed);
            let joint = match seed % 3 { 0 => None, 1 => Some(false), _ => Some(true) };
            let scene = Scene::random(&mut chance, joint);
            let readings = simulate(&scene, &mut chance);
            let started = std::time::Instant::now();
            match estimate(&readings) {
                Ok(found) => {
                    let k = scene.truth.phase;
                    let weeks = scene.days as f64 / 7.0;
                    let t_mid = scene.truth.extra(k, 0.5);
                    let share = if weeks < 1.0 { 0.5 } else { 1.0 - 0.5 / weeks };
                    let t_last = scene.truth.extra(k, share);
                    let e = found.phases[k];
                    format!("{seed} daily {:.2} neigh {:.2} days {} size {:.2} wander {:.2} tau {:.0} true {:.2} est {:.2} se {:.2} z {:.2} | last {:.2} {:.2} se {:.2} z {:.2} dof {:.0} n {} {:?}",
                        scene.daily_v, scene.neighbour_v, scene.days, scene.size, scene.wander_v, scene.wander_s, t_mid*1e3, e.at_middle.value*1e3, e.at_middle.error*1e3,
                        (e.at_middle.value-t_mid)/e.at_middle.error, t_last*1e3, e.last_week.value*1e3, e.last_week.error*1e3, (e.last_week.value-t_last)/e.last_week.error,
                        e.at_middle.freedom, found.changes, started.elapsed())
                }
                Err(error) => format!("{seed} {error}"),
            }
        })
        .collect();
    for row in rows {
        eprintln!("{row}");
    }
}
