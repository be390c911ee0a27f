//! A valve law as a list of named numbers, for the fit and for the file.

use engine::device::{GridLaw, PentodeLaw, TriodeLaw, ValveLaw};

/// Names in the file, in the order of [`values`].
pub fn names(law: &ValveLaw) -> &'static [&'static str] {
    match law {
        ValveLaw::Triode(_) => &[
            "mu",
            "perveance",
            "offset",
            "width",
            "spread",
            "tail",
            "knee",
        ],
        ValveLaw::Pentode(_) => &[
            "per_screen_mu",
            "per_anode_mu",
            "perveance",
            "offset",
            "width",
            "spread",
            "tail",
            "knee",
            "screen_share",
            "loss",
            "loss_at",
        ],
    }
}

/// The name of the law's table in the file.
pub fn table(law: &ValveLaw) -> &'static str {
    match law {
        ValveLaw::Triode(_) => "triode",
        ValveLaw::Pentode(_) => "pentode",
    }
}

/// The values of the space-current law.
pub fn values(law: &ValveLaw) -> Vec<f64> {
    match law {
        ValveLaw::Triode(l) => vec![
            l.mu,
            l.perveance,
            l.offset,
            l.width,
            l.spread,
            l.tail,
            l.knee,
        ],
        ValveLaw::Pentode(l) => vec![
            l.per_screen_mu,
            l.per_anode_mu,
            l.perveance,
            l.offset,
            l.width,
            l.spread,
            l.tail,
            l.knee,
            l.screen_share,
            l.loss,
            l.loss_at,
        ],
    }
}

/// A law of the same kind with other values and the same grid current.
pub fn with_values(law: &ValveLaw, v: &[f64]) -> ValveLaw {
    match law {
        ValveLaw::Triode(l) => ValveLaw::Triode(TriodeLaw {
            mu: v[0],
            perveance: v[1],
            offset: v[2],
            width: v[3],
            spread: v[4],
            tail: v[5],
            knee: v[6],
            grid: l.grid,
        }),
        ValveLaw::Pentode(l) => ValveLaw::Pentode(PentodeLaw {
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
            grid: l.grid,
        }),
    }
}

/// Names of the grid law's values in the file, in the order of [`grid_values`].
pub const GRID_NAMES: [&str; 5] = ["perveance", "offset", "width", "threshold", "flattening"];

/// The values of the grid law.
pub fn grid_values(law: &GridLaw<f64>) -> [f64; 5] {
    [
        law.perveance,
        law.offset,
        law.width,
        law.threshold,
        law.flattening,
    ]
}

/// A grid law from its values.
pub fn grid_law(v: &[f64]) -> GridLaw<f64> {
    GridLaw {
        perveance: v[0],
        offset: v[1],
        width: v[2],
        threshold: v[3],
        flattening: v[4],
    }
}

/// The grid law of a valve.
pub fn grid_of(law: &ValveLaw) -> GridLaw<f64> {
    match law {
        ValveLaw::Triode(l) => l.grid,
        ValveLaw::Pentode(l) => l.grid,
    }
}

/// Range of a parameter of either law within which it is passive, bounded and free of divisions
/// by zero.
pub fn range(name: &str) -> (f64, f64) {
    match name {
        "mu" => (2.0, 200.0),
        "per_screen_mu" => (0.02, 0.5),
        "per_anode_mu" => (0.0, 0.05),
        "perveance" => (1e-5, 0.1),
        "offset" => (-3.0, 6.0),
        "width" => (0.05, 5.0),
        "spread" => (0.0, 0.05),
        "tail" => (0.02, 0.9),
        "knee" => (0.1, 60.0),
        "screen_share" | "loss" => (0.0, 0.9),
        "loss_at" => (0.05, 1.5),
        other => unreachable!("no parameter is called {other}"),
    }
}

/// The same for the grid law.
pub fn grid_range(name: &str) -> (f64, f64) {
    match name {
        "perveance" => (1e-5, 0.1),
        "offset" => (-1.0, 1.0),
        "width" => (0.02, 1.0),
        "threshold" => (0.005, 1.0),
        "flattening" => (0.005, 10.0),
        other => unreachable!("no parameter is called {other}"),
    }
}
