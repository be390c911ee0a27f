//! Properties that every device law must have for the solvers: exact derivatives, smoothness,
//! passivity, monotony, bounded conductances, and curvatures that do not flatter.

use engine::device::{Catalogue, PentodeLaw, TriodeLaw, Valve, ValveLaw};

/// The range that a real-time solver meets, V.
const ANODE: (f64, f64) = (-300.0, 800.0);
const SCREEN: (f64, f64) = (-50.0, 600.0);
const GRID: (f64, f64) = (-150.0, 100.0);

/// Voltages from `low` to `high`, dense around zero, none within 1 mV of it: the laws change
/// their second derivative there, which a central difference would smear.
fn sweep((low, high): (f64, f64)) -> Vec<f64> {
    let mut volts = Vec::new();
    for magnitude in [
        0.002, 0.05, 0.3, 0.8, 1.7, 3.1, 5.3, 9.0, 14.0, 22.0, 37.0, 60.0, 99.0, 150.0, 220.0,
        300.0, 450.0, 600.0, 800.0,
    ] {
        for volt in [-magnitude, magnitude] {
            if (low..=high).contains(&volt) {
                volts.push(volt);
            }
        }
    }
    volts.sort_by(f64::total_cmp);
    volts
}

fn triodes(catalogue: &Catalogue) -> impl Iterator<Item = (&Valve, &TriodeLaw<f64>)> {
    catalogue
        .valves
        .iter()
        .filter_map(|valve| match &valve.law {
            ValveLaw::Triode(law) => Some((&**valve, law)),
            ValveLaw::Pentode(_) => None,
        })
}

fn pentodes(catalogue: &Catalogue) -> impl Iterator<Item = (&Valve, &PentodeLaw<f64>)> {
    catalogue
        .valves
        .iter()
        .filter_map(|valve| match &valve.law {
            ValveLaw::Pentode(law) => Some((&**valve, law)),
            ValveLaw::Triode(_) => None,
        })
}

/// Compares a derivative with a central difference. The truncation error of the finer of two
/// steps is a third of the change between them (Richardson); the rounding error of a current
/// that is a product of a dozen factors is a few ε of it over the step.
fn agrees(name: &str, at: &[f64], exact: f64, value: impl Fn(f64) -> f64, x: f64) {
    let h = (1e-4 * (1.0 + 0.01 * x.abs())).min(0.5 * x.abs());
    let difference = (value(x + h) - value(x - h)) / (2.0 * h);
    let finer = (value(x + 0.5 * h) - value(x - 0.5 * h)) / h;
    let truncation = (difference - finer).abs();
    let rounding = 64.0 * f64::EPSILON * value(x).abs() / h;
    // Deep in cut-off the ramp ½(e + √(e² + w²)) is a difference of numbers near 300 V.
    let cancellation = 64.0 * f64::EPSILON * 300.0 * exact.abs().sqrt().min(1e-3) / h;
    let tolerance = truncation + rounding + cancellation + 1e-7 * exact.abs() + 1e-15;
    assert!(
        (exact - finer).abs() <= tolerance,
        "{name} at {at:?}: {exact:e} by formula, {finer:e} by difference, tolerance {tolerance:e}"
    );
}

#[test]
fn triode_derivatives_are_exact() {
    let catalogue = Catalogue::built_in();
    for (valve, law) in triodes(&catalogue) {
        for va in sweep(ANODE) {
            for vg in sweep(GRID) {
                let i = law.currents(va, vg);
                let at = [va, vg];
                let name = &valve.name;
                agrees(
                    name,
                    &at,
                    i.anode_by_anode,
                    |v| law.currents(v, vg).anode,
                    va,
                );
                agrees(
                    name,
                    &at,
                    i.anode_by_grid,
                    |v| law.currents(va, v).anode,
                    vg,
                );
                agrees(name, &at, i.grid_by_grid, |v| law.currents(va, v).grid, vg);
            }
        }
    }
}

#[test]
fn pentode_derivatives_are_exact() {
    let catalogue = Catalogue::built_in();
    for (valve, law) in pentodes(&catalogue) {
        let at_all = |va: f64, vs: f64, vg: f64| law.currents(va, vs, vg);
        for va in sweep(ANODE) {
            for vs in sweep(SCREEN) {
                for vg in sweep(GRID) {
                    let i = at_all(va, vs, vg);
                    let at = [va, vs, vg];
                    let name = &valve.name;
                    agrees(name, &at, i.anode_by_anode, |v| at_all(v, vs, vg).anode, va);
                    agrees(
                        name,
                        &at,
                        i.anode_by_screen,
                        |v| at_all(va, v, vg).anode,
                        vs,
                    );
                    agrees(name, &at, i.anode_by_grid, |v| at_all(va, vs, v).anode, vg);
                    agrees(
                        name,
                        &at,
                        i.screen_by_anode,
                        |v| at_all(v, vs, vg).screen,
                        va,
                    );
                    agrees(
                        name,
                        &at,
                        i.screen_by_screen,
                        |v| at_all(va, v, vg).screen,
                        vs,
                    );
                    agrees(
                        name,
                        &at,
                        i.screen_by_grid,
                        |v| at_all(va, vs, v).screen,
                        vg,
                    );
                    agrees(name, &at, i.grid_by_grid, |v| at_all(va, vs, v).grid, vg);
                }
            }
        }
    }
}

/// Power that initial velocities of the electrons may deliver out of a slightly negative grid,
/// W: physical, and below 3 µW in every law.
const GRID_EMISSION_WATTS: f64 = 3e-6;

#[test]
fn triodes_are_passive_monotone_and_bounded() {
    let catalogue = Catalogue::built_in();
    for (valve, law) in triodes(&catalogue) {
        for va in sweep(ANODE) {
            for vg in sweep(GRID) {
                let i = law.currents(va, vg);
                let at = format!("{} at {va} V, {vg} V: {i:?}", valve.name);
                assert!(i.anode >= 0.0 && i.grid >= 0.0, "{at}");
                assert!(va > 0.0 || i.anode == 0.0, "{at}");
                assert!(va * i.anode + vg * i.grid >= -GRID_EMISSION_WATTS, "{at}");
                assert!(i.anode_by_anode >= 0.0 && i.anode_by_anode < 0.5, "{at}");
                assert!(i.anode_by_grid >= 0.0 && i.anode_by_grid < 0.5, "{at}");
                assert!(i.grid_by_grid >= 0.0 && i.grid_by_grid < 0.02, "{at}");
                assert!(
                    i.anode_curvature >= 0.0 && i.anode_curvature.is_finite(),
                    "{at}"
                );
                assert!(
                    i.grid_curvature >= 0.0 && i.grid_curvature.is_finite(),
                    "{at}"
                );
            }
        }
    }
}

#[test]
fn pentodes_are_passive_monotone_and_bounded() {
    let catalogue = Catalogue::built_in();
    for (valve, law) in pentodes(&catalogue) {
        for va in sweep(ANODE) {
            for vs in sweep(SCREEN) {
                for vg in sweep(GRID) {
                    let i = law.currents(va, vs, vg);
                    let at = format!("{} at {va} V, {vs} V, {vg} V: {i:?}", valve.name);
                    assert!(i.anode >= 0.0 && i.screen >= 0.0 && i.grid >= 0.0, "{at}");
                    assert!(va > 0.0 || i.anode == 0.0, "{at}");
                    assert!(vs > 0.0 || i.screen == 0.0, "{at}");
                    let watts = va * i.anode + vs * i.screen + vg * i.grid;
                    assert!(watts >= -GRID_EMISSION_WATTS, "{at}");
                    assert!(i.anode_by_anode >= 0.0 && i.anode_by_anode < 0.5, "{at}");
                    assert!(i.anode_by_grid >= 0.0 && i.anode_by_grid < 0.5, "{at}");
                    assert!(i.screen_by_grid >= 0.0 && i.screen_by_grid < 0.5, "{at}");
                    assert!(
                        i.screen_by_screen > -1e-9 && i.screen_by_screen < 0.5,
                        "{at}"
                    );
                    assert!(i.screen_by_anode.abs() < 0.5, "{at}");
                    assert!(i.anode_by_screen.abs() < 0.5, "{at}");
                    assert!(i.grid_by_grid >= 0.0 && i.grid_by_grid < 0.02, "{at}");
                    for curvature in [i.cathode_curvature, i.anode_curvature, i.grid_curvature] {
                        assert!(curvature >= 0.0 && curvature.is_finite(), "{at}");
                    }
                }
            }
        }
    }
}

/// Slopes on either side of zero volts differ by no more than a bounded second derivative
/// allows: no law here exceeds 5 A/V² on either side, at any voltage of the sweep.
#[test]
fn laws_are_smooth_through_zero() {
    let catalogue = Catalogue::built_in();
    let step = 1e-7;
    let largest_jump = 2.0 * step * 5.0;
    for (valve, law) in triodes(&catalogue) {
        for vg in sweep(GRID) {
            let below = law.currents(-step, vg);
            let above = law.currents(step, vg);
            let jump = (above.anode_by_anode - below.anode_by_anode).abs();
            assert!(jump <= largest_jump, "{} at {vg} V: {jump:e}", valve.name);
        }
    }
    for (valve, law) in pentodes(&catalogue) {
        for vg in sweep(GRID) {
            for other in sweep(SCREEN) {
                for (below, above) in [
                    (
                        law.currents(-step, other, vg),
                        law.currents(step, other, vg),
                    ),
                    (
                        law.currents(other, -step, vg),
                        law.currents(other, step, vg),
                    ),
                ] {
                    for (a, b) in [
                        (below.anode_by_anode, above.anode_by_anode),
                        (below.anode_by_screen, above.anode_by_screen),
                        (below.anode_by_grid, above.anode_by_grid),
                        (below.screen_by_anode, above.screen_by_anode),
                        (below.screen_by_screen, above.screen_by_screen),
                        (below.screen_by_grid, above.screen_by_grid),
                    ] {
                        assert!(
                            (a - b).abs() <= largest_jump,
                            "{} at {other} V, {vg} V: {a:e} to {b:e}",
                            valve.name
                        );
                    }
                }
            }
        }
    }
}

/// The curvatures judge a Newton step: they must not be smaller than the second derivative that
/// they stand for, and not so large that no step would ever be accepted.
#[test]
fn curvatures_are_honest_bounds() {
    let catalogue = Catalogue::built_in();
    let h = 1e-3;
    let second = |f: &dyn Fn(f64) -> f64, x: f64| (f(x + h) - f(x - h)) / (2.0 * h);
    for (valve, law) in triodes(&catalogue) {
        for va in sweep(ANODE).into_iter().filter(|v| v.abs() > 0.01) {
            for vg in sweep((-20.0, 20.0)) {
                let i = law.currents(va, vg);
                let at = format!("{} at {va} V, {vg} V", valve.name);
                let by_grid = second(&|v| law.currents(va, v).anode_by_grid, vg).abs();
                assert!(
                    by_grid <= 1.01 * i.anode_curvature + 1e-9,
                    "{at}: {by_grid:e}, {i:?}"
                );
                let by_anode = second(&|v| law.currents(v, vg).anode_by_anode, va).abs();
                let scaled = by_anode * law.mu * law.mu;
                assert!(
                    scaled <= 2.0 * i.anode_curvature + 1e-7,
                    "{at}: {scaled:e}, {i:?}"
                );
                let grid = second(&|v| law.currents(va, v).grid_by_grid, vg).abs();
                assert!(
                    grid <= 1.05 * i.grid_curvature + 1e-9,
                    "{at}: {grid:e}, {i:?}"
                );
                assert!(
                    i.grid_curvature <= 8.0 * grid + 2e-4,
                    "{at}: {grid:e}, {i:?}"
                );
            }
        }
    }
    for (valve, law) in pentodes(&catalogue) {
        for va in sweep(ANODE).into_iter().filter(|v| v.abs() > 0.01) {
            for vs in sweep(SCREEN).into_iter().filter(|v| v.abs() > 0.01) {
                for vg in sweep((-40.0, 20.0)) {
                    let i = law.currents(va, vs, vg);
                    let at = format!("{} at {va} V, {vs} V, {vg} V", valve.name);
                    let cathode = |v: f64| {
                        let i = law.currents(va, vs, v);
                        i.anode_by_grid + i.screen_by_grid
                    };
                    let by_grid = second(&cathode, vg).abs();
                    assert!(
                        by_grid <= 1.3 * i.cathode_curvature + 1e-9,
                        "{at}: {by_grid:e} {i:?}"
                    );
                    let by_anode = second(&|v| law.currents(v, vs, vg).anode_by_anode, va).abs();
                    assert!(
                        by_anode <= 1.3 * i.anode_curvature + 3e-6,
                        "{at}: {by_anode:e}, {i:?}"
                    );
                }
            }
        }
    }
}

/// Lanes must give each lane's own law, the same as a lone number does.
#[test]
fn lanes_agree_with_single_laws() {
    use engine::numeric::lanes::Lanes;
    use engine::numeric::real::Real;
    type Four = Lanes<4, false>;
    let catalogue = Catalogue::built_in();
    for (_, law) in triodes(&catalogue) {
        let mut wide = TriodeLaw::<Four>::splat(law);
        let mut other = *law;
        other.mu *= 0.5;
        wide.set_lane(2, &other);
        let i = wide.currents(Four::splat(150.0), Four::splat(-1.0));
        assert_eq!(i.anode.lane(0), law.currents(150.0, -1.0).anode);
        assert_eq!(i.anode.lane(2), other.currents(150.0, -1.0).anode);
    }
    for (_, law) in pentodes(&catalogue) {
        let mut wide = PentodeLaw::<Four>::splat(law);
        let mut other = *law;
        other.knee *= 2.0;
        wide.set_lane(1, &other);
        let (va, vs, vg) = (Four::splat(50.0), Four::splat(250.0), Four::splat(-5.0));
        let i = wide.currents(va, vs, vg);
        assert_eq!(i.screen.lane(0), law.currents(50.0, 250.0, -5.0).screen);
        assert_eq!(i.screen.lane(1), other.currents(50.0, 250.0, -5.0).screen);
    }
}
