//! Published numbers beside what a law gives for them: rows for the fit and for the print-out.

use engine::device::ValveLaw;
use engine::device::load_line::{
    Bias, OutputStage, currents, driven, resistance_coupled, self_bias,
};
use engine::device::valve_file::{PrintedDrive, PrintedPoint, PrintedStage, ValveFile};

/// How far a printed number may lie from the law to count as one unit in the fit.
#[derive(Clone, Copy)]
pub struct Scales {
    /// Printed anode current, relative.
    pub anode: f64,
    /// Printed screen current, relative.
    pub screen: f64,
    /// Printed conductance, relative.
    pub conductance: f64,
    /// Printed anode resistance, relative.
    pub resistance: f64,
    /// Current in a resistance-coupled stage, relative.
    pub stage_current: f64,
    /// Gain of a resistance-coupled stage, relative.
    pub stage_gain: f64,
    /// Mean anode current at full drive, relative.
    pub driven_anode: f64,
    /// Mean screen current at full drive, relative.
    pub driven_screen: f64,
    /// Power, relative. The law's power comes from an ideal transformer, print does not.
    pub watts: f64,
    /// Distortion, percentage points.
    pub distortion: f64,
}

/// One published number beside the law's.
pub struct Row {
    /// Where and what.
    pub label: String,
    /// As published.
    pub printed: f64,
    /// As the law has it.
    pub model: f64,
    /// What counts as one unit in the fit, in the number's own unit.
    pub scale: f64,
    /// Takes part in the fit.
    pub fitted: bool,
}

fn row(
    label: String,
    printed: Option<f64>,
    model: f64,
    relative: f64,
    fitted: bool,
) -> Option<Row> {
    printed.map(|printed| Row {
        label,
        printed,
        model,
        scale: relative * printed,
        fitted,
    })
}

/// All printed numbers of a file, compared with a law.
pub fn printed_rows(file: &ValveFile, law: &ValveLaw, scales: &Scales, all: bool) -> Vec<Row> {
    let mut rows = Vec::new();
    for point in file.printed.iter().filter(|p| all || p.fitted) {
        static_rows(point, law, scales, &mut rows);
    }
    for stage in file.stage.iter().filter(|s| all || s.fitted) {
        stage_rows(stage, law, scales, &mut rows);
    }
    for drive in file.driven.iter().filter(|d| all || d.fitted) {
        driven_rows(drive, law, scales, &mut rows);
    }
    rows
}

fn static_rows(p: &PrintedPoint, law: &ValveLaw, scales: &Scales, rows: &mut Vec<Row>) {
    let (va, vs) = (p.anode_volts, p.screen_volts);
    let vg = match (p.grid_volts, p.cathode_ohms) {
        (Some(vg), _) => vg,
        (None, Some(ohms)) => self_bias(law, va, vs, ohms),
        (None, None) => 0.0,
    };
    let (anode, screen) = currents(law, va, vs, vg);
    let step = 1e-3;
    let at = |va: f64, vg: f64| currents(law, va, vs, vg).0;
    let conductance = (at(va, vg + step) - at(va, vg - step)) / (2.0 * step);
    // With the screen tied to the anode both move together, as the sheets mean it.
    let resistance = 2.0 * step / (at(va + step, vg) - at(va - step, vg));
    let screen_text = vs.map_or(String::new(), |vs| format!("/{vs}"));
    let where_ = format!("{va}{screen_text}/{vg:.2} V");
    rows.extend(row(
        format!("{where_} Ia mA"),
        p.anode_milliamps,
        1e3 * anode,
        scales.anode,
        p.fitted,
    ));
    rows.extend(row(
        format!("{where_} Ig2 mA"),
        p.screen_milliamps,
        1e3 * screen,
        scales.screen,
        p.fitted,
    ));
    rows.extend(row(
        format!("{where_} gm mA/V"),
        p.milliamps_per_volt,
        1e3 * conductance,
        scales.conductance,
        p.fitted,
    ));
    rows.extend(row(
        format!("{where_} ra kΩ"),
        p.anode_kilohms,
        1e-3 * resistance,
        scales.resistance,
        p.fitted,
    ));
}

fn stage_rows(s: &PrintedStage, law: &ValveLaw, scales: &Scales, rows: &mut Vec<Row>) {
    let ValveLaw::Triode(law) = law else { return };
    let r = resistance_coupled(
        law,
        s.supply_volts,
        s.anode_ohms,
        s.cathode_ohms,
        s.next_leak_ohms,
    );
    let where_ = format!(
        "{} V, {}k/{}k/{}k",
        s.supply_volts,
        s.anode_ohms / 1e3,
        s.next_leak_ohms / 1e3,
        s.cathode_ohms / 1e3
    );
    rows.extend(row(
        format!("{where_} Ia mA"),
        s.anode_milliamps,
        1e3 * r.anode_amps,
        scales.stage_current,
        s.fitted,
    ));
    rows.extend(row(
        format!("{where_} gain"),
        s.gain,
        r.gain,
        scales.stage_gain,
        s.fitted,
    ));
}

/// A printed output stage as the bench understands it.
pub fn output_stage(d: &PrintedDrive) -> OutputStage {
    OutputStage {
        push_pull: d.push_pull,
        anode_volts: d.anode_volts,
        screen_volts: d.screen_volts,
        bias: match (d.grid_volts, d.cathode_ohms) {
            (Some(vg), _) => Bias::Fixed(vg),
            (None, ohms) => Bias::Cathode(ohms.unwrap_or(0.0)),
        },
        load_ohms: d.load_ohms,
        drive_volts: d.drive_volts,
    }
}

fn driven_rows(d: &PrintedDrive, law: &ValveLaw, scales: &Scales, rows: &mut Vec<Row>) {
    let r = driven(law, &output_stage(d));
    let where_ = format!(
        "{} {} V, {}k, {} V rms",
        if d.push_pull {
            "push-pull"
        } else {
            "single-ended"
        },
        d.anode_volts,
        d.load_ohms / 1e3,
        d.drive_volts
    );
    rows.extend(row(
        format!("{where_} Ia mA"),
        d.anode_milliamps,
        1e3 * r.anode_amps,
        scales.driven_anode,
        d.fitted,
    ));
    rows.extend(row(
        format!("{where_} Ig2 mA"),
        d.screen_milliamps,
        1e3 * r.screen_amps,
        scales.driven_screen,
        d.fitted,
    ));
    rows.extend(row(
        format!("{where_} W"),
        d.watts,
        r.watts,
        scales.watts,
        d.fitted,
    ));
    rows.extend(d.distortion_percent.map(|printed| Row {
        label: format!("{where_} distortion %"),
        printed,
        model: r.distortion_percent,
        scale: scales.distortion,
        fitted: d.fitted,
    }));
}
