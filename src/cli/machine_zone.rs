//! The time zone of the machine, for a log that comes without a site.

use chrono_tz::Tz;

/// The zone, and where it is set: the variable `TZ`, else `/etc/timezone` or `/etc/localtime`; UTC where none is.
pub(super) fn machine_zone() -> (Tz, String) {
    let of = |name: &str| name.trim().trim_start_matches(':').parse::<Tz>().ok();
    if let Some(zone) = std::env::var("TZ").ok().as_deref().and_then(of) {
        return (zone, "this machine's, from `TZ`".to_owned());
    }
    let named = std::fs::read_to_string("/etc/timezone").ok();
    let linked = || {
        let target = std::fs::read_link("/etc/localtime").ok()?;
        let target = target.to_string_lossy().into_owned();
        of(target.split("zoneinfo/").nth(1)?)
    };
    match named.as_deref().and_then(of).or_else(linked) {
        Some(zone) => (zone, "this machine's".to_owned()),
        None => (Tz::UTC, "this machine names none".to_owned()),
    }
}
