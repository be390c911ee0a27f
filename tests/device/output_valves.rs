//! Output valves: each fitted law meets its maker's curves, printed points and driven conditions
//! within the bars that the project set itself. Every number comes from the valve files, which
//! name their sources; where print cannot be met, the exception stands here with its reason.

use crate::published::{file, grid_volts, points, rms, within};
use engine::device::load_line::{Bias, Driven, OutputStage, currents, driven};
use engine::device::valve_file::PrintedDrive;
use engine::device::{PentodeLaw, ValveFile};

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

/// Anode curves by screen voltage, mA rms.
fn by_screen(law: &PentodeLaw<f64>, chart: &str, screen_volts: f64) -> (f64, usize) {
    let points = points(chart);
    let rows = points.iter().filter(|p| p[1] == screen_volts);
    rms(rows.map(|p| 1e3 * law.currents(p[0], p[1], p[2]).anode - p[3]))
}

/// Mean of the relative differences from a chart of screen current, without sign; the current is in
/// column `column`.
fn screen_error(law: &PentodeLaw<f64>, chart: &str, column: usize) -> f64 {
    let errors: Vec<f64> = points(chart)
        .iter()
        .filter(|p| p[column].is_finite())
        .map(|p| (1e3 * law.currents(p[0], p[1], p[2]).screen / p[column] - 1.0).abs())
        .collect();
    errors.iter().sum::<f64>() / errors.len() as f64
}

/// Push-pull rows at full drive into an ideal transformer: anode current and power within 10 %.
fn check_push_pull(file: &ValveFile) {
    for d in file.driven.iter().filter(|d| d.push_pull) {
        let r = at_full_drive(file, d);
        let at = format!("{} pair {} V, {} Ω", file.name, d.anode_volts, d.load_ohms);
        let anode = d.anode_milliamps.expect("a current");
        within(&format!("{at}, anode mA"), 1e3 * r.anode_amps, anode, 0.1);
        within(&format!("{at}, W"), r.watts, d.watts.expect("watts"), 0.1);
    }
}

/// The Electronic Tube Handbook sheets, 1949 to 1959 (seen). Where the table contradicts the maker's
/// own curves, the curves are held: his class A rows lie 20 to 25 % above them, so they are compared
/// only; of his screen currents at rest two lie above the transfer chart.
#[test]
fn el34_meets_its_curves_and_its_push_pull_rows() {
    let file = file("EL34");
    let law = file.pentode.unwrap();
    let (low, low_count) = by_screen(&law, "el34_plate", 250.0);
    let (high, high_count) = by_screen(&law, "el34_plate", 360.0);
    let screen = screen_error(&law, "el34_transfer", 4);
    println!("EL34 rms mA: {low:.2} at 250 V, {high:.2} at 360 V, screen {screen:.3}");
    assert_eq!(low_count + high_count, 354);
    assert!(low <= 6.0 && high <= 10.0 && screen <= 0.15);
    check_printed(&file, 0.07, None);
    for p in file.printed.iter().filter(|p| p.grid_volts == Some(-13.5)) {
        let (anode, _) = currents(&file.valve().law, p.anode_volts, p.screen_volts, -13.5);
        let printed = p.anode_milliamps.expect("a current");
        within("EL34 class A, anode mA", 1e3 * anode, printed, 0.25);
    }
    check_push_pull(&file);
}

/// Few points, from memory or secondary copies: the bar is wider, and says little.
#[test]
fn v6l6gc_meets_the_points_that_were_found() {
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
