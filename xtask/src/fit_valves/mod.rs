//! `cargo xtask fit-valves`: fits every valve law to the published points and prints each residual.
//!
//! Without arguments it prints; `--check` fails when a file's law differs from the refit by more
//! than a millionth; `--write` writes the refit into the files; valve names choose some of them.
//! Laws use no transcendental function and the fit starts from fixed values, so that the result
//! is the same everywhere.

mod comparison;
mod least_squares;
mod parameters;
mod points;
mod recipes;
mod stage_distortion;

use comparison::{Row, printed_rows};
use engine::device::load_line::currents;
use engine::device::{ValveFile, ValveLaw};
use points::Points;
use recipes::{Chart, Quantity, RECIPES, Recipe};
use stage_distortion::{Coupled, distortion_percent};
use std::path::{Path, PathBuf};

/// Largest relative difference between a file and its refit.
const AGREEMENT: f64 = 1e-6;

/// Runs the chore from the top of the checkout.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let (options, names): (Vec<_>, Vec<_>) = arguments.iter().partition(|a| a.starts_with("--"));
    let (mut check, mut write) = (false, false);
    for option in options {
        match option.as_str() {
            "--check" => check = true,
            "--write" => write = true,
            other => {
                return Err(format!(
                    "unknown option {other}; there are --check and --write"
                ));
            }
        }
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../presets/valves");
    let mut differing = Vec::new();
    for recipe in RECIPES {
        if !names.is_empty() && !names.iter().any(|n| n.eq_ignore_ascii_case(recipe.file)) {
            continue;
        }
        let path = folder.join(recipe.file).with_extension("toml");
        let text =
            std::fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
        let file = ValveFile::parse(&text)?;
        let refit = refit(recipe, &file, &folder)?;
        print_comparison(recipe, &file, &refit, &folder)?;
        let difference = largest_difference(&file.valve().law, &refit);
        println!("  largest relative difference from the file: {difference:.1e}\n");
        if difference > AGREEMENT {
            differing.push(file.name.clone());
            if write {
                let text = with_law(&text, &refit)?;
                std::fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))?;
            }
        }
    }
    if check && !differing.is_empty() {
        return Err(format!(
            "the files of {} differ from the refit: run cargo xtask fit-valves --write",
            differing.join(", ")
        ));
    }
    if write {
        println!(
            "Written: {}",
            if differing.is_empty() {
                "nothing".into()
            } else {
                differing.join(", ")
            }
        );
    }
    Ok(())
}

fn chart_path(folder: &Path, name: &str) -> PathBuf {
    folder.join("points").join(name).with_extension("csv")
}

/// Rows of one chart.
fn chart_rows(chart: &Chart, law: &ValveLaw, folder: &Path) -> Result<Vec<Row>, String> {
    let points = Points::read(&chart_path(folder, chart.file))?;
    let mut rows = Vec::new();
    for at in points.rows() {
        let vg = at("grid_volts").unwrap_or(0.0);
        let va = at("anode_volts").unwrap_or(0.0);
        let vs = at("screen_volts");
        let (anode, screen) = currents(law, va, vs, vg);
        let grid = parameters::grid_of(law);
        let number = |name: &str| at(name).unwrap_or(0.0);
        let model = match (chart.quantity, law) {
            (Quantity::Anode, _) => 1e3 * anode,
            (Quantity::Screen, _) => 1e3 * screen,
            (Quantity::Grid, _) => 1e3 * grid.at(vg).current,
            (Quantity::Distortion, ValveLaw::Triode(law)) => distortion_percent(
                law,
                &Coupled {
                    supply_volts: number("supply_volts"),
                    anode_ohms: number("anode_ohms"),
                    cathode_ohms: number("cathode_ohms"),
                    next_leak_ohms: number("next_leak_ohms"),
                    output_volts: number("output_volts"),
                },
            ),
            (Quantity::Distortion, ValveLaw::Pentode(_)) => {
                return Err(format!("{}: only triodes have stages", chart.file));
            }
        };
        if let Some(printed) = at(chart.column) {
            rows.push(Row {
                label: format!(
                    "{}: {va}/{}/{vg} V",
                    chart.file,
                    vs.map_or("-".into(), |v| v.to_string())
                ),
                printed,
                model,
                scale: chart.unit.max(chart.relative * printed),
                fitted: true,
            });
        }
    }
    Ok(rows)
}

fn rows_of(
    recipe: &Recipe,
    file: &ValveFile,
    law: &ValveLaw,
    folder: &Path,
    all: bool,
) -> Result<Vec<Row>, String> {
    let mut rows = printed_rows(file, law, &recipe.scales, all);
    for chart in recipe.charts {
        rows.extend(chart_rows(chart, law, folder)?);
    }
    Ok(rows)
}

fn residuals(rows: &[Row]) -> Vec<f64> {
    rows.iter()
        .filter(|r| r.fitted)
        .map(|r| (r.model - r.printed) / r.scale)
        .collect()
}

/// Fits first the grid current, then the space current.
fn refit(recipe: &Recipe, file: &ValveFile, folder: &Path) -> Result<ValveLaw, String> {
    let law = (recipe.start)();
    let mut law = with_grid(&law, recipe.grid_start);
    if let Some(chart) = &recipe.grid_chart {
        let start = chart_free(
            recipe.grid_free,
            &parameters::GRID_NAMES,
            &recipe.grid_start,
        );
        let put = |x: &[f64]| {
            let values = put_free(
                recipe.grid_free,
                &parameters::GRID_NAMES,
                &recipe.grid_start,
                x,
            );
            with_grid(&law, values.try_into().expect("five values"))
        };
        let (x, _) = least_squares::fit(
            &start,
            &recipe
                .grid_free
                .iter()
                .map(|n| parameters::grid_range(n))
                .collect::<Vec<_>>(),
            |x| residuals(&chart_rows(chart, &put(x), folder).unwrap_or_default()),
        );
        law = put(&x);
    }
    let names = parameters::names(&law);
    let all = parameters::values(&law);
    let put = |x: &[f64]| parameters::with_values(&law, &put_free(recipe.free, names, &all, x));
    // Read once here, so that a missing file is an error and not an empty fit.
    rows_of(recipe, file, &law, folder, false)?;
    let (x, _) = least_squares::fit(
        &chart_free(recipe.free, names, &all),
        &recipe
            .free
            .iter()
            .map(|n| parameters::range(n))
            .collect::<Vec<_>>(),
        |x| residuals(&rows_of(recipe, file, &put(x), folder, false).unwrap_or_default()),
    );
    Ok(put(&x))
}

fn with_grid(law: &ValveLaw, values: [f64; 5]) -> ValveLaw {
    let mut law = law.clone();
    match &mut law {
        ValveLaw::Triode(l) => l.grid = parameters::grid_law(&values),
        ValveLaw::Pentode(l) => l.grid = parameters::grid_law(&values),
    }
    law
}

/// The values of the free parameters.
fn chart_free(free: &[&str], names: &[&str], all: &[f64]) -> Vec<f64> {
    free.iter()
        .map(|f| {
            all[names
                .iter()
                .position(|n| n == f)
                .expect("a parameter's name")]
        })
        .collect()
}

/// All values, with the free ones replaced.
fn put_free(free: &[&str], names: &[&str], all: &[f64], x: &[f64]) -> Vec<f64> {
    let mut values = all.to_vec();
    for (f, x) in free.iter().zip(x) {
        values[names
            .iter()
            .position(|n| n == f)
            .expect("a parameter's name")] = *x;
    }
    values
}

fn print_comparison(
    recipe: &Recipe,
    file: &ValveFile,
    law: &ValveLaw,
    folder: &Path,
) -> Result<(), String> {
    println!("{}", file.name);
    for (name, value) in parameters::names(law).iter().zip(parameters::values(law)) {
        let unsolved = if recipe.free.contains(name) {
            ""
        } else {
            "  (held)"
        };
        println!("  {name:14} {value:.6e}{unsolved}");
    }
    let grid = parameters::grid_of(law);
    for (name, value) in parameters::GRID_NAMES
        .iter()
        .zip(parameters::grid_values(&grid))
    {
        println!("  grid {name:10} {value:.6e}");
    }
    let micro = |vg: f64| 1e6 * grid.at(vg).current;
    println!(
        "  grid current at -2, -1.3, -1, 0, +1 V: {:.2e}, {:.2e}, {:.2e}, {:.2e}, {:.3e} µA",
        micro(-2.0),
        micro(-1.3),
        micro(-1.0),
        micro(0.0),
        micro(1.0)
    );
    let print_row = |r: &Row| {
        println!(
            "  {:52} {:9.3} {:9.3}  {:+8.3} {:+6.1} %{}",
            r.label,
            r.printed,
            r.model,
            r.model - r.printed,
            100.0 * (r.model / r.printed - 1.0),
            if r.fitted { "" } else { "  (not fitted)" }
        );
    };
    println!(
        "  {:52} {:>9} {:>9}  {:>8}",
        "", "printed", "law", "residual"
    );
    for row in printed_rows(file, law, &recipe.scales, true) {
        print_row(&row);
    }
    for chart in recipe.charts.iter().chain(&recipe.grid_chart) {
        let rows = chart_rows(chart, law, folder)?;
        rows.iter().for_each(print_row);
        let mean = rows
            .iter()
            .map(|r| (r.model - r.printed).powi(2))
            .sum::<f64>()
            / rows.len() as f64;
        println!(
            "  {} {}: {} points, rms {:.4}",
            chart.file,
            chart.column,
            rows.len(),
            mean.sqrt()
        );
    }
    Ok(())
}

fn all_values(law: &ValveLaw) -> Vec<f64> {
    let mut values = parameters::values(law);
    values.extend(parameters::grid_values(&parameters::grid_of(law)));
    values
}

fn largest_difference(a: &ValveLaw, b: &ValveLaw) -> f64 {
    all_values(a)
        .iter()
        .zip(all_values(b))
        .map(|(a, b)| (a - b).abs() / b.abs().max(1e-9))
        .fold(0.0, f64::max)
}

/// The file's text with another law; comments and all else stay.
fn with_law(text: &str, law: &ValveLaw) -> Result<String, String> {
    let mut document: toml_edit::DocumentMut = text.parse().map_err(|e| format!("{e}"))?;
    let table = &mut document[parameters::table(law)];
    let set = |item: &mut toml_edit::Item, x: f64| -> Result<(), String> {
        let digits: f64 = format!("{x:.8e}").parse().map_err(|e| format!("{e}"))?;
        let mut value = toml_edit::Value::from(digits);
        if let Some(old) = item.as_value() {
            *value.decor_mut() = old.decor().clone();
        }
        *item = toml_edit::Item::Value(value);
        Ok(())
    };
    for (name, x) in parameters::names(law).iter().zip(parameters::values(law)) {
        set(&mut table[name], x)?;
    }
    let grid = parameters::grid_values(&parameters::grid_of(law));
    for (name, x) in parameters::GRID_NAMES.iter().zip(grid) {
        set(&mut table["grid"][name], x)?;
    }
    Ok(document.to_string())
}

#[cfg(test)]
mod tests {
    /// The printed residuals are for whoever fits; here it matters that the files follow from the
    /// published points.
    #[test]
    fn valve_files_follow_from_their_points() {
        super::run(&["--check".into()]).expect("every file is its own refit");
    }
}
