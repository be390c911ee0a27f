//! What is fitted to what: one recipe a valve.

use super::comparison::Scales;
use super::parameters::grid_law;
use engine::device::{PentodeLaw, TriodeLaw, ValveLaw};

/// What a chart shows.
#[derive(Clone, Copy)]
pub enum Quantity {
    /// Anode current; with the screen tied to the anode the sum of both.
    Anode,
    /// Screen current.
    Screen,
    /// Control-grid current.
    Grid,
    /// Distortion of a resistance-coupled stage.
    Distortion,
}

/// One column of a file of digitised points.
pub struct Chart {
    /// File name in `presets/valves/points`, without extension.
    pub file: &'static str,
    /// Column with the current, mA, or the distortion, %.
    pub column: &'static str,
    /// What that current is.
    pub quantity: Quantity,
    /// What counts as one unit in the fit: this many mA or percentage points,
    pub unit: f64,
    /// or this share of the point, whichever is more.
    pub relative: f64,
}

/// How one valve is fitted.
pub struct Recipe {
    /// File name in `presets/valves`, without extension.
    pub file: &'static str,
    /// Where the fit starts; parameters that are not free keep these values.
    pub start: fn() -> ValveLaw,
    /// Free parameters of the space current.
    pub free: &'static [&'static str],
    /// Charts of anode and screen current.
    pub charts: &'static [Chart],
    /// Weights of the printed numbers.
    pub scales: Scales,
    /// Where the fit of the grid current starts.
    pub grid_start: [f64; 5],
    /// Free parameters of the grid current.
    pub grid_free: &'static [&'static str],
    /// Chart of the grid current.
    pub grid_chart: Option<Chart>,
}

/// Weights of a small triode.
const TRIODE: Scales = Scales {
    anode: 0.015,
    screen: 1.0,
    conductance: 0.05,
    resistance: 0.1,
    stage_current: 0.015,
    stage_gain: 0.06,
    driven_anode: 1.0,
    driven_screen: 1.0,
    watts: 1.0,
    distortion: 10.0,
};

/// Weights of an output valve. Charts and print disagree by more than either's own accuracy, so
/// the few printed numbers must weigh as much as the hundreds of points.
const OUTPUT: Scales = Scales {
    anode: 0.0125,
    screen: 0.0375,
    conductance: 0.05,
    resistance: 1.0,
    stage_current: 1.0,
    stage_gain: 1.0,
    driven_anode: 0.02,
    driven_screen: 0.03,
    watts: 0.06,
    distortion: 1.5,
};

/// Weights of an output valve with charts that its maker's table contradicts here and there: the
/// chart is held, the table is a help.
const CHARTED: Scales = Scales {
    anode: 0.01,
    screen: 0.06,
    conductance: 0.2,
    resistance: 1.0,
    driven_anode: 0.03,
    driven_screen: 0.06,
    watts: 1.0,
    distortion: 10.0,
    ..OUTPUT
};

fn triode(v: [f64; 7]) -> ValveLaw {
    ValveLaw::Triode(TriodeLaw {
        mu: v[0],
        perveance: v[1],
        offset: v[2],
        width: v[3],
        spread: v[4],
        tail: v[5],
        knee: v[6],
        grid: grid_law(&SMALL_GRID),
    })
}

fn pentode(v: [f64; 11]) -> ValveLaw {
    ValveLaw::Pentode(PentodeLaw {
        per_screen_mu: v[0],
        per_anode_mu: v[1],
        perveance: v[2],
        offset: v[3],
        width: v[4],
        spread: v[5],
        tail: v[6],
        knee: v[7],
        screen_share: v[8],
        loss: v[9],
        loss_at: v[10],
        grid: grid_law(&OUTPUT_GRID),
    })
}

/// Grid current of a small triode before its fit.
const SMALL_GRID: [f64; 5] = [0.7e-3, 0.1, 0.155, 0.0855, 0.3];
/// Grid current of ECC81 and ECC82: only the perveance is fitted, to ECC81's chart; below half a
/// volt the shape is that of ECC83, far above zero the chart shows no flattening.
const MEDIUM_GRID: [f64; 5] = [1.8e-3, 0.1, 0.155, 0.0855, 0.01];
/// Assumed grid current of an output valve: below 0.3 µA at −1.3 V, about 1 kΩ above zero.
const OUTPUT_GRID: [f64; 5] = [2.0e-3, -0.1, 0.3, 0.1, 1.0];

/// The width at zero screen voltage is in no curve, and the tail ends at the limit of its range:
/// both are held.
const PENTODE_ALL: &[&str] = &[
    "per_screen_mu",
    "per_anode_mu",
    "perveance",
    "offset",
    "spread",
    "knee",
    "screen_share",
    "loss",
    "loss_at",
];

const fn chart(file: &'static str, column: &'static str, quantity: Quantity, unit: f64) -> Chart {
    Chart {
        file,
        column,
        quantity,
        unit,
        relative: 0.0,
    }
}

/// Every valve.
pub const RECIPES: &[Recipe] = &[
    Recipe {
        file: "ecc81",
        start: || triode([80.0, 5e-3, 0.8, 0.3, 0.01, 0.5, 30.0]),
        free: &[
            "mu",
            "perveance",
            "offset",
            "width",
            "spread",
            "tail",
            "knee",
        ],
        charts: &[chart(
            "ecc81_plate",
            "anode_milliamps",
            Quantity::Anode,
            0.3,
        )],
        scales: TRIODE,
        grid_start: MEDIUM_GRID,
        grid_free: &["perveance"],
        grid_chart: Some(chart("ecc81_grid", "grid_milliamps", Quantity::Grid, 0.7)),
    },
    Recipe {
        file: "ecc82",
        start: || triode([15.0, 1.4e-3, 0.6, 0.1, 0.025, 0.9, 1.0]),
        free: &["mu", "perveance", "offset", "spread"],
        charts: &[chart(
            "ecc82_distortion",
            "distortion_percent",
            Quantity::Distortion,
            0.8,
        )],
        scales: TRIODE,
        grid_start: MEDIUM_GRID,
        grid_free: &["perveance"],
        grid_chart: Some(chart("ecc81_grid", "grid_milliamps", Quantity::Grid, 0.7)),
    },
    Recipe {
        file: "ecc83",
        start: || triode([105.0, 1.1e-3, 0.5, 0.2, 0.002, 0.05, 3.0]),
        free: &["mu", "perveance", "offset", "width", "spread", "knee"],
        charts: &[chart(
            "ecc83_plate",
            "anode_milliamps",
            Quantity::Anode,
            0.04,
        )],
        scales: TRIODE,
        grid_start: SMALL_GRID,
        grid_free: &["perveance", "offset", "width", "threshold", "flattening"],
        grid_chart: Some(Chart {
            file: "ecc83_grid",
            column: "grid_milliamps",
            quantity: Quantity::Grid,
            unit: 0.0002,
            relative: 0.02,
        }),
    },
    Recipe {
        file: "el34",
        start: || {
            pentode([
                0.087, 0.0078, 3.7e-3, 0.88, 0.3, 0.041, 0.37, 0.53, 0.11, 0.25, 0.21,
            ])
        },
        free: PENTODE_ALL,
        charts: &[
            chart("el34_plate", "anode_milliamps", Quantity::Anode, 6.0),
            chart("el34_transfer", "anode_milliamps", Quantity::Anode, 4.0),
            chart("el34_transfer", "screen_milliamps", Quantity::Screen, 1.0),
        ],
        scales: CHARTED,
        grid_start: OUTPUT_GRID,
        grid_free: &[],
        grid_chart: None,
    },
    Recipe {
        file: "el84",
        start: || {
            pentode([
                0.045, 0.0036, 3.6e-3, 1.3, 0.3, 0.008, 0.02, 1.1, 0.1, 0.08, 0.3,
            ])
        },
        free: PENTODE_ALL,
        charts: &[
            chart("el84_plate", "anode_milliamps", Quantity::Anode, 2.2),
            chart("el84_transfer", "anode_milliamps", Quantity::Anode, 2.0),
            chart("el84_transfer", "screen_milliamps", Quantity::Screen, 0.6),
            chart("el84_triode", "cathode_milliamps", Quantity::Anode, 4.0),
        ],
        scales: OUTPUT,
        grid_start: OUTPUT_GRID,
        grid_free: &[],
        grid_chart: None,
    },
    Recipe {
        file: "6l6gc",
        start: || {
            pentode([
                0.13, 0.005, 2e-3, 1.9, 0.3, 0.0087, 0.9, 0.575, 0.05, 0.048, 1.07,
            ])
        },
        free: &[
            "per_screen_mu",
            "per_anode_mu",
            "perveance",
            "offset",
            "knee",
            "screen_share",
        ],
        charts: &[],
        scales: OUTPUT,
        grid_start: OUTPUT_GRID,
        grid_free: &[],
        grid_chart: None,
    },
    Recipe {
        file: "6v6gt",
        start: || {
            pentode([
                0.13, 0.005, 1.4e-3, 1.9, 0.3, 0.009, 0.9, 0.6, 0.05, 0.05, 1.0,
            ])
        },
        free: PENTODE_ALL,
        charts: &[
            chart("6v6gt_plate", "anode_milliamps", Quantity::Anode, 2.3),
            chart("6v6gt_screen", "screen_milliamps", Quantity::Screen, 1.0),
        ],
        scales: OUTPUT,
        grid_start: OUTPUT_GRID,
        grid_free: &[],
        grid_chart: None,
    },
];
