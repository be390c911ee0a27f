//! The valve files: they parse, and each fitted triode law and grid current meets the published
//! points within the bars that the project set itself. Every number comes from the files, which
//! name their sources; where print cannot be met, the exception stands here with its reason.

use crate::published::{file, grid_volts, points, rms, within};
use engine::device::catalogue::VALVE_FILES;
use engine::device::load_line::{currents, resistance_coupled};
use engine::device::{Catalogue, GridLaw, TriodeLaw, ValveFile, ValveLaw};

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
                assert!(!ratings.source.is_empty(), "{path}");
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

/// The curves (another maker's sheet, October 1947, seen) are held where the table of 1957 contradicts
/// them: their own current at 100 V and -1 V is 8 % below the table's, their slope at 250 V and -2 V
/// 7 mA/V (9.0 mA above and 7.9 below, over a volt and two) for the printed 5.5.
#[test]
fn ecc81_meets_its_curves_and_its_printed_points() {
    let file = file("ECC81");
    let law = file.valve().law;
    let (rms, count) = rms(points("ecc81_plate")
        .iter()
        .map(|p| 1e3 * triode(&file).currents(p[0], p[1]).anode - p[2]));
    println!("ECC81 chart: {rms:.4} mA rms over {count} points");
    assert!(count == 93 && rms <= 0.5, "{rms} mA over {count} points");
    for p in file.printed.iter().filter(|p| p.fitted) {
        let vg = grid_volts(&law, p);
        let (anode, _) = currents(&law, p.anode_volts, None, vg);
        let at = format!("ECC81 at {} V, {vg:.2} V", p.anode_volts);
        within(
            &format!("{at}, mA"),
            1e3 * anode,
            p.anode_milliamps.unwrap(),
            0.07,
        );
        let printed = p.milliamps_per_volt.expect("a conductance");
        let gm = triode(&file).currents(p.anode_volts, vg).anode_by_grid;
        within(&format!("{at}, mA/V"), 1e3 * gm, printed, 0.25);
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
