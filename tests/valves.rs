//! The valve files: they parse, and each fitted law meets the published points that it was fitted
//! to within the bars that the project set itself. Every number comes from the files, which name
//! their sources; where a printed number cannot be met, the exception stands here with its reason.

use presolder::device::catalogue::VALVE_FILES;
use presolder::device::load_line::{
    Bias, Driven, OutputStage, currents, driven, resistance_coupled, self_bias,
};
use presolder::device::valve_file::{PrintedDrive, PrintedPoint};
use presolder::device::{Catalogue, GridLaw, TriodeLaw, ValveFile, ValveLaw};

fn file(name: &str) -> ValveFile {
    VALVE_FILES
        .iter()
        .map(|(path, text)| ValveFile::parse(text).unwrap_or_else(|e| panic!("{path}: {e}")))
        .find(|file| file.name == name)
        .unwrap_or_else(|| panic!("no valve is called {name}"))
}

/// Rows of digitised points, as numbers; an empty cell is NaN.
fn points(name: &str) -> Vec<Vec<f64>> {
    let path = format!(
        "{}/presets/valves/points/{name}.csv",
        env!("CARGO_MANIFEST_DIR")
    );
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
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
fn rms(differences: impl Iterator<Item = f64>) -> (f64, usize) {
    let kept: Vec<f64> = differences.filter(|d| d.is_finite()).collect();
    let sum: f64 = kept.iter().map(|d| d * d).sum();
    ((sum / kept.len() as f64).sqrt(), kept.len())
}

fn grid_volts(law: &ValveLaw, p: &PrintedPoint) -> f64 {
    match (p.grid_volts, p.cathode_ohms) {
        (Some(vg), _) => vg,
        (None, Some(ohms)) => self_bias(law, p.anode_volts, p.screen_volts, ohms),
        (None, None) => panic!("{p:?} has no grid voltage"),
    }
}

/// Checks a number against print, by relative difference.
fn within(what: &str, model: f64, printed: f64, bar: f64) {
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

fn triode(file: &ValveFile) -> &TriodeLaw<f64> {
    file.triode.as_ref().expect("a triode")
}

#[test]
fn every_file_parses_and_says_where_it_comes_from() {
    let names: Vec<String> = VALVE_FILES
        .iter()
        .map(|(path, text)| {
            let file = ValveFile::parse(text).unwrap_or_else(|e| panic!("{path}: {e}"));
            assert!(file.provenance.len() > 40, "{path}");
            assert!(!file.ratings.is_empty(), "{path}");
            for ratings in &file.ratings {
                assert!(
                    !ratings.system.is_empty() && !ratings.source.is_empty(),
                    "{path}"
                );
                assert!(
                    ratings.anode_volts.is_some() && ratings.anode_watts.is_some(),
                    "{path}"
                );
            }
            file.name
        })
        .collect();
    for name in ["ECC81", "ECC82", "ECC83", "EL34", "EL84", "6L6GC", "6V6GT"] {
        assert!(names.iter().any(|n| n == name), "{name}");
    }
    let catalogue = Catalogue::built_in();
    assert_eq!(catalogue.valve("12ax7").unwrap().name, "ECC83");
    // A name belongs to one valve only.
    let mut all: Vec<String> = catalogue
        .valves
        .iter()
        .flat_map(|v| v.also.iter().chain([&v.name]).map(|n| n.to_lowercase()))
        .collect();
    let count = all.len();
    all.sort();
    all.dedup();
    assert_eq!(all.len(), count);
}

#[test]
fn an_unknown_key_or_a_missing_law_is_refused() {
    let (_, text) = VALVE_FILES[0];
    let error = ValveFile::parse(&format!("colour = 3\n{text}")).unwrap_err();
    assert!(error.contains("colour"), "{error}");
    let error = ValveFile::parse(&text.replace("mu =", "my =")).unwrap_err();
    assert!(error.contains("my"), "{error}");
}

#[test]
fn ecc83_meets_its_chart_and_its_printed_points() {
    let file = file("ECC83");
    let law = triode(&file);
    let (rms, count) = rms(points("ecc83_plate")
        .iter()
        .map(|p| 1e3 * law.currents(p[0], p[1]).anode - p[2]));
    println!("ECC83 chart: {rms:.4} mA rms over {count} points");
    assert!(count == 98 && rms <= 0.04, "{rms} mA over {count} points");
    for p in &file.printed {
        let i = law.currents(p.anode_volts, p.grid_volts.unwrap());
        let at = format!("ECC83 at {} V, {:?} V", p.anode_volts, p.grid_volts);
        within(
            &format!("{at}, mA"),
            1e3 * i.anode,
            p.anode_milliamps.unwrap(),
            0.05,
        );
        // The chart's own slope at 100 V and −1 V is 1.1 to 1.15 mA/V, less than the printed 1.25.
        within(
            &format!("{at}, mA/V"),
            1e3 * i.anode_by_grid,
            p.milliamps_per_volt.unwrap(),
            0.12,
        );
    }
}

/// Coupling tables. Currents within 5 %, except two rows at 220 kΩ that are from memory and ask
/// for a third less current than the chart gives at the same voltages. Gains within 12 % of one
/// maker: the table read at small signal is met, the other at 100 V as well.
#[test]
fn ecc83_meets_its_coupling_tables() {
    let file = file("ECC83");
    let law = triode(&file);
    let (mut currents, mut gains) = (0, 0);
    for s in &file.stage {
        let r = resistance_coupled(
            law,
            s.supply_volts,
            s.anode_ohms,
            s.cathode_ohms,
            s.next_leak_ohms,
        );
        let at = format!("ECC83 stage {} V, {} Ω", s.supply_volts, s.anode_ohms);
        if let Some(printed) = s.anode_milliamps {
            let low_rows = s.anode_ohms > 0.2e6 && s.supply_volts <= 250.0;
            let bar = if low_rows { 0.065 } else { 0.05 };
            within(&format!("{at}, mA"), 1e3 * r.anode_amps, printed, bar);
            currents += 1;
        }
        if let (Some(printed), true) = (s.gain, s.fitted) {
            within(&format!("{at}, gain"), r.gain, printed, 0.12);
            gains += 1;
        }
    }
    assert_eq!((currents, gains), (10, 9));
}

#[test]
fn ecc82_meets_its_coupling_table() {
    let file = file("ECC82");
    let law = triode(&file);
    let mut currents = 0;
    for s in file.stage.iter().filter(|s| s.fitted) {
        let r = resistance_coupled(
            law,
            s.supply_volts,
            s.anode_ohms,
            s.cathode_ohms,
            s.next_leak_ohms,
        );
        let at = format!("ECC82 stage {} V, {} Ω", s.supply_volts, s.anode_ohms);
        within(
            &format!("{at}, mA"),
            1e3 * r.anode_amps,
            s.anode_milliamps.unwrap(),
            0.03,
        );
        within(&format!("{at}, gain"), r.gain, s.gain.unwrap(), 0.12);
        currents += 1;
    }
    assert_eq!(currents, 21);
    for p in file
        .printed
        .iter()
        .filter(|p| p.milliamps_per_volt.is_some())
    {
        let i = law.currents(p.anode_volts, p.grid_volts.unwrap());
        let at = format!("ECC82 at {} V", p.anode_volts);
        within(
            &format!("{at}, mA"),
            1e3 * i.anode,
            p.anode_milliamps.unwrap(),
            0.05,
        );
        within(
            &format!("{at}, mA/V"),
            1e3 * i.anode_by_grid,
            p.milliamps_per_volt.unwrap(),
            0.12,
        );
    }
}

#[test]
fn ecc81_meets_its_printed_points() {
    let file = file("ECC81");
    let law = file.valve().law;
    for p in &file.printed {
        let vg = grid_volts(&law, p);
        let (anode, _) = currents(&law, p.anode_volts, None, vg);
        let at = format!("ECC81 at {} V, {vg:.2} V", p.anode_volts);
        within(
            &format!("{at}, mA"),
            1e3 * anode,
            p.anode_milliamps.unwrap(),
            0.05,
        );
        if let Some(printed) = p.milliamps_per_volt {
            let gm = triode(&file).currents(p.anode_volts, vg).anode_by_grid;
            within(&format!("{at}, mA/V"), 1e3 * gm, printed, 0.05);
        }
    }
}

/// Anode currents within `anode_bar`, screen currents within `screen_bar` where one is given.
fn check_printed(file: &ValveFile, anode_bar: f64, screen_bar: Option<f64>) {
    let law = file.valve().law;
    let mut count = 0;
    for p in file.printed.iter().filter(|p| p.fitted) {
        let vg = grid_volts(&law, p);
        let (anode, screen) = currents(&law, p.anode_volts, p.screen_volts, vg);
        let at = format!(
            "{} at {}/{:?}/{vg:.2} V",
            file.name, p.anode_volts, p.screen_volts
        );
        if let Some(printed) = p.anode_milliamps {
            within(&format!("{at}, anode mA"), 1e3 * anode, printed, anode_bar);
            count += 1;
        }
        if let (Some(printed), Some(bar)) = (p.screen_milliamps, screen_bar) {
            within(&format!("{at}, screen mA"), 1e3 * screen, printed, bar);
        }
    }
    assert!(count >= 3, "{}: only {count} printed points", file.name);
}

#[test]
fn el84_meets_its_curves_and_its_printed_points() {
    let file = file("EL84");
    let law = file.pentode.unwrap();
    let (plate, count) = rms(points("el84_plate")
        .iter()
        .map(|p| 1e3 * law.currents(p[0], p[1], p[2]).anode - p[3]));
    assert!(
        count == 384 && plate <= 2.2,
        "{plate} mA over {count} points"
    );
    let transfer = points("el84_transfer");
    let at = |p: &[f64]| law.currents(p[0], p[1], p[2]);
    let (anode, _) = rms(transfer.iter().map(|p| 1e3 * at(p).anode - p[3]));
    let (screen, _) = rms(transfer.iter().map(|p| 1e3 * at(p).screen - p[4]));
    let (strapped, _) = rms(points("el84_triode").iter().map(|p| {
        let i = law.currents(p[0], p[0], p[1]);
        1e3 * (i.anode + i.screen) - p[2]
    }));
    println!(
        "EL84 rms mA: curves {plate:.2}, transfer {anode:.2}, screen {screen:.2}, triode {strapped:.2}"
    );
    // No bars were set for these; they hold what the fit reached against charts whose own
    // disagreement is of this size (at 300 V, −12.5 V: 29 mA strapped, 23 mA from the curves).
    assert!(anode <= 2.2 && screen <= 0.4 && strapped <= 4.5);
    check_printed(&file, 0.05, Some(0.15));
}

/// Screen currents are not held to a bar: print gives 10 % of the anode current at −12.5 V and
/// 7 % at −15 V, its own screen curve 7 % at 0 V; no smooth law follows that.
#[test]
fn v6v6gt_meets_its_curves_and_its_printed_points() {
    let file = file("6V6GT");
    let law = file.pentode.unwrap();
    let (plate, count) = rms(points("6v6gt_plate")
        .iter()
        .map(|p| 1e3 * law.currents(p[0], p[1], p[2]).anode - p[3]));
    let (screen, _) = rms(points("6v6gt_screen")
        .iter()
        .map(|p| 1e3 * law.currents(p[0], p[1], p[2]).screen - p[3]));
    println!("6V6GT rms mA: curves {plate:.2}, screen {screen:.2}");
    assert!(
        count == 194 && plate <= 2.3,
        "{plate} mA over {count} points"
    );
    assert!(screen <= 2.0, "{screen} mA");
    check_printed(&file, 0.07, None);
}

/// Few points, from memory or secondary copies: the bar is wider, and says little.
#[test]
fn el34_and_6l6gc_meet_the_points_that_were_found() {
    check_printed(&file("EL34"), 0.07, Some(0.15));
    check_printed(&file("6L6GC"), 0.05, Some(0.15));
}

fn at_full_drive(file: &ValveFile, d: &PrintedDrive) -> Driven {
    let stage = OutputStage {
        push_pull: d.push_pull,
        anode_volts: d.anode_volts,
        screen_volts: d.screen_volts,
        bias: match (d.grid_volts, d.cathode_ohms) {
            (Some(vg), _) => Bias::Fixed(vg),
            (None, ohms) => Bias::Cathode(ohms.unwrap()),
        },
        load_ohms: d.load_ohms,
        drive_volts: d.drive_volts,
    };
    driven(&file.valve().law, &stage)
}

/// EL84 at full drive into an ideal transformer. Currents within 7 %, except the screen at 250 V
/// in push-pull (21 % high: the printed 11 W at 8 V rms is below what the maker's own curves give
/// into 8 kΩ, and with 5 % less drive the law agrees). Single-ended power within 10 %; push-pull
/// power 14 to 22 % above print, which contains the transformer's losses.
#[test]
fn el84_draws_what_is_printed_at_full_drive() {
    let file = file("EL84");
    for d in file.driven.iter().filter(|d| d.screen_volts.is_some()) {
        let r = at_full_drive(&file, d);
        let at = format!(
            "EL84 {} V, {} Ω, {} V rms",
            d.anode_volts, d.load_ohms, d.drive_volts
        );
        let low_voltage_pair = d.push_pull && d.anode_volts < 300.0;
        if let Some(printed) = d.anode_milliamps {
            within(
                &format!("{at}, anode mA"),
                1e3 * r.anode_amps,
                printed,
                0.07,
            );
        }
        if let Some(printed) = d.screen_milliamps {
            let bar = if low_voltage_pair { 0.22 } else { 0.07 };
            within(
                &format!("{at}, screen mA"),
                1e3 * r.screen_amps,
                printed,
                bar,
            );
        }
        if let Some(printed) = d.watts {
            let bar = if d.push_pull { 0.22 } else { 0.10 };
            within(&format!("{at}, W"), r.watts, printed, bar);
        }
        if let Some(printed) = d.distortion_percent {
            let points = r.distortion_percent - printed;
            assert!(
                points.abs() <= 2.0,
                "{at}: {} % distortion",
                r.distortion_percent
            );
        }
    }
}

fn micro(grid: &GridLaw<f64>, vg: f64) -> f64 {
    1e6 * grid.at(vg).current
}

/// ECC83: the measured section of Dempwolf and Zölzer (2011), and what a 1 MΩ leak tolerates.
#[test]
fn grid_currents_rise_and_vanish_as_they_should() {
    let ecc83 = file("ECC83");
    let grid = &triode(&ecc83).grid;
    for (vg, milliamps) in [
        (0.0, 0.018843),
        (0.5, 0.24899),
        (1.0, 0.61778),
        (2.0, 1.5359),
    ] {
        within(
            &format!("ECC83 grid at {vg} V"),
            1e-3 * micro(grid, vg),
            milliamps,
            0.03,
        );
    }
    for law in [
        grid,
        &triode(&file("ECC82")).grid,
        &triode(&file("ECC81")).grid,
    ] {
        assert!(micro(law, -1.0) <= 0.025, "{} µA", micro(law, -1.0));
        assert!(micro(law, -2.0) <= 0.003, "{} µA", micro(law, -2.0));
    }
    assert!(micro(grid, -1.0) <= 0.016 && micro(grid, -2.0) <= 0.002);
    // Printed limit of EL84 and ECC82: 0.3 µA at −1.3 V.
    for valve in Catalogue::built_in().valves.iter() {
        let grid = match &valve.law {
            ValveLaw::Triode(law) => law.grid,
            ValveLaw::Pentode(law) => law.grid,
        };
        assert!(
            micro(&grid, -1.3) <= 0.3,
            "{}: {} µA",
            valve.name,
            micro(&grid, -1.3)
        );
    }
    // The chart of ECC81 at 200 V and 100 V, read to 0.7 mA; the law does not know the anode, so
    // it must lie between the two curves or within the reading accuracy of one.
    let ecc81 = file("ECC81");
    let chart = points("ecc81_grid");
    for vg in 1..=8 {
        let at = |va: f64| {
            let row = chart.iter().find(|p| p[0] == va && p[1] == f64::from(vg));
            row.expect("a point of the chart")[2]
        };
        let law = 1e-3 * micro(&triode(&ecc81).grid, f64::from(vg));
        assert!(
            law >= at(200.0) - 0.7 && law <= at(100.0) + 0.7,
            "ECC81 grid at {vg} V: {law} mA for {} to {}",
            at(200.0),
            at(100.0)
        );
    }
}
