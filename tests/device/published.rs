//! Helpers of the tests that hold fitted valve laws against print.

use engine::device::ValveFile;
use engine::device::ValveLaw;
use engine::device::catalogue::VALVE_FILES;
use engine::device::load_line::self_bias;
use engine::device::valve_file::PrintedPoint;

/// A valve's file by its name.
pub fn file(name: &str) -> ValveFile {
    VALVE_FILES
        .iter()
        .map(|(path, text)| ValveFile::parse(text).unwrap_or_else(|e| panic!("{path}: {e}")))
        .find(|file| file.name == name)
        .unwrap_or_else(|| panic!("no valve is called {name}"))
}

/// Rows of digitised points, as numbers; an empty cell is NaN.
pub fn points(name: &str) -> Vec<Vec<f64>> {
    let path = crate::top::top().join(format!("presets/valves/points/{name}.csv"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines
        .map(|line| {
            line.split(',')
                .map(|cell| cell.parse().unwrap_or(f64::NAN))
                .collect()
        })
        .collect()
}

/// Root mean square of the differences that are numbers, and how many there are.
pub fn rms(differences: impl Iterator<Item = f64>) -> (f64, usize) {
    let kept: Vec<f64> = differences.filter(|d| d.is_finite()).collect();
    let sum: f64 = kept.iter().map(|d| d * d).sum();
    ((sum / kept.len() as f64).sqrt(), kept.len())
}

/// The grid voltage of a printed point, solved where print gives a cathode resistor.
pub fn grid_volts(law: &ValveLaw, p: &PrintedPoint) -> f64 {
    match (p.grid_volts, p.cathode_ohms) {
        (Some(vg), _) => vg,
        (None, Some(ohms)) => self_bias(law, p.anode_volts, p.screen_volts, ohms),
        (None, None) => panic!("{p:?} has no grid voltage"),
    }
}

/// Checks a number against print, by relative difference.
pub fn within(what: &str, model: f64, printed: f64, bar: f64) {
    let error = model / printed - 1.0;
    println!(
        "{what}: printed {printed}, law {model:.3}, {:+.1} %",
        100.0 * error
    );
    assert!(
        error.abs() <= bar,
        "{what}: printed {printed}, law {model}, bar {bar}"
    );
}
