//! The format's documentation, `presets/README.md`, says what the program does: its example is
//! read, its tables are compared with the program's own.

use engine::advice::prices::{MINUTES_RANGE, PRICE_RANGE, Prices, Ware};
use engine::circuit::{self, Kind};
use engine::device::{Catalogue, Loudspeaker, acoustics, loudspeaker};
use engine::units::Quantity;
use num_complex::Complex64;

const MANUAL: &str = include_str!("../../presets/README.md");

/// The TOML blocks of the page.
fn blocks() -> Vec<&'static str> {
    MANUAL
        .split("```toml\n")
        .skip(1)
        .map(|rest| rest.split("```").next().expect("a block ends"))
        .collect()
}

/// Cells of the table rows that begin with `first`.
fn row(first: &str) -> Vec<&'static str> {
    let start = format!("| {first} |");
    let lines: Vec<&str> = MANUAL.lines().filter(|l| l.starts_with(&start)).collect();
    assert_eq!(lines.len(), 1, "one row for {first}: {lines:?}");
    lines[0].split('|').map(str::trim).collect()
}

/// Words between backquotes.
fn words(cell: &str) -> Vec<&str> {
    cell.split('`').skip(1).step_by(2).collect()
}

#[test]
fn the_example_is_a_valid_circuit_and_its_proposal_fits() {
    let catalogue = Catalogue::built_in();
    let [example, proposal, measured, _, _, _, _, _] = blocks()[..] else {
        panic!("eight blocks of TOML are expected");
    };
    let circuit = circuit::read(example, &catalogue).unwrap_or_else(|faults| {
        let told: String = faults.iter().map(|f| format!("{f}\n")).collect();
        panic!("{told}")
    });
    assert_eq!(circuit.warnings(), []);
    assert_eq!(circuit.controls(), ["Volume", "Cut", "Full"]);
    let proposal = circuit::read_proposal(proposal).expect("a valid proposal");
    assert_eq!(proposal.for_amp, circuit.name());
    let proposed = proposal.apply(&circuit, &catalogue).expect("it fits");
    assert!(!proposed.same_but_for_lines(&circuit));
    let readings = circuit::read_readings(measured.as_bytes(), &circuit, &catalogue);
    let readings = readings.unwrap_or_else(|faults| panic!("{faults:?}"));
    assert_eq!(readings.for_amp, circuit.name());
    assert_eq!((readings.volts.len(), readings.parts.len()), (7, 1));
    // The transformer's assumptions are named: 5 kΩ is 5/8 of the typical 8 kΩ.
    let supplied = circuit.supplied().join("\n");
    for sentence in [
        "T1: leakage is not stated; 10 mH is assumed.",
        "T1: leakage damping is not stated; 27.5 kΩ is assumed.",
        "T1: core loss is not stated; 93.75 kΩ is assumed.",
        "T1: winding capacitance is not stated; 1.6 nF is assumed.",
        "T1: resistance is not stated; 150 Ω (primary) and 0.24 Ω (secondary) is assumed.",
    ] {
        assert!(supplied.contains(sentence), "{sentence}\n{supplied}");
    }
    assert!(!supplied.contains("inductance"), "{supplied}");
}

#[test]
fn the_loudspeaker_on_the_page_is_the_built_in_one_and_its_ranges_are_the_programs_own() {
    let driver = Loudspeaker::parse(blocks()[4]).expect("a valid loudspeaker");
    let built_in = Catalogue::built_in();
    assert_eq!(&driver, &**built_in.loudspeaker(&driver.name).unwrap());
    for (key, [least, greatest], unit) in loudspeaker::RANGES {
        let allowed = row(&format!("`{key}`"))[3];
        assert_eq!(
            allowed,
            format!("{least}{unit} to {greatest}{unit}"),
            "{key}"
        );
    }
    let ranges = [acoustics::HZ_RANGE, acoustics::Q_RANGE, acoustics::DB_RANGE];
    for (key, [least, greatest]) in ["hz", "q", "db"].into_iter().zip(ranges) {
        let verb = if key == "hz" { " goes" } else { "" };
        let range = format!("`{key}`{verb} from {least} to {greatest}");
        assert!(MANUAL.contains(&range), "{range}");
    }
    let most = format!("at most {} sections", acoustics::MOST_SECTIONS - 1);
    assert!(MANUAL.contains(&most), "{most}");
}

/// The worked example behind the example circuit: what the page says that a data sheet of it has
/// comes out of it.
#[test]
fn the_own_loudspeaker_on_the_page_is_read_and_follows_its_rules() {
    let catalogue = Catalogue::built_in();
    let text = format!("{}\n{}", blocks()[0], blocks()[5]);
    let circuit = circuit::read(&text, &catalogue).expect("a valid circuit");
    let own: Vec<_> = circuit.own_loudspeakers().collect();
    let [driver] = own[..] else {
        panic!("one loudspeaker is expected");
    };
    let proposed = circuit.with_written_changes(&["LS1=Shed Twelve".parse().unwrap()], &catalogue);
    assert!(proposed.is_ok());
    let most = format!("up to {} loudspeakers", circuit::MOST_OWN_LOUDSPEAKERS);
    assert!(MANUAL.contains(&most), "{most}");
    // Sections as the comment says.
    let like = catalogue.loudspeaker("Anvil Twelve").unwrap();
    assert_eq!(
        driver.acoustic.sections()[1..],
        like.acoustic.sections()[1..]
    );
    // The rule for the coil: at 1 kHz it comes to the sheet's inductance again, which two digits
    // state to 5 %, there and for the loudspeakers of the program.
    let reactance = |driver: &Loudspeaker, hz: f64| {
        let omega = 2.0 * std::f64::consts::PI * hz;
        let lossy = Complex64::new(0.0, omega * driver.lossy_henries);
        let losses = lossy * driver.lossy_ohms / (lossy + driver.lossy_ohms);
        driver.coil_ohms + losses + Complex64::new(0.0, omega * driver.coil_henries)
    };
    let at_1_khz =
        |driver: &Loudspeaker| reactance(driver, 1000.0).im / (2.0 * std::f64::consts::PI * 1000.0);
    assert!((at_1_khz(driver) / 0.7e-3 - 1.0).abs() < 0.05);
    for driver in &catalogue.loudspeakers {
        let inductance = at_1_khz(driver);
        let ruled = Loudspeaker {
            coil_henries: inductance / 4.0,
            lossy_henries: 0.8 * inductance,
            lossy_ohms: 2.0 * driver.coil_ohms,
            ..(**driver).clone()
        };
        let lossless = Loudspeaker {
            coil_henries: inductance,
            lossy_henries: 0.0,
            ..(**driver).clone()
        };
        let name = &driver.name;
        assert!((at_1_khz(&ruled) / inductance - 1.0).abs() < 0.05, "{name}");
        // What the page says of the top.
        let top = |driver: &Loudspeaker| reactance(driver, 10e3).norm();
        assert!((top(&ruled) / top(driver) - 1.0).abs() < 0.12, "{name}");
        assert!(top(&lossless) / top(driver) > 1.7, "{name}");
    }
}

#[test]
fn the_parts_drawer_on_the_page_is_read() {
    let drawer = circuit::read_drawer(blocks()[6].as_bytes()).expect("a valid drawer");
    let pieces: Vec<usize> = drawer.stock.iter().map(|s| s.pieces).collect();
    assert_eq!(pieces, [1, 3, 1, 1, 2, 1]);
    assert!(MANUAL.contains(&format!(
        "At most {} different values",
        circuit::MOST_STOCKED
    )));
}

#[test]
fn the_price_file_on_the_page_is_read_and_its_ranges_are_the_programs_own() {
    let prices = Prices::parse(blocks()[3]).expect("a valid price file");
    assert_eq!(prices.currency(), "coins");
    let range = |[least, greatest]: [f64; 2]| format!("from {least} to {greatest}");
    for range in [range(MINUTES_RANGE), range(PRICE_RANGE)] {
        assert!(MANUAL.contains(&range), "{range}");
    }
    for ware in Ware::ALL {
        assert!(blocks()[3].contains(&format!("\n{} = ", ware.word())));
    }
}

#[test]
fn the_table_of_kinds_is_the_programs_own() {
    for kind in Kind::ALL {
        let cells = row(&format!("`{}`", kind.word()));
        assert_eq!(words(cells[3]), kind.required(), "{}", kind.word());
        assert_eq!(words(cells[4]), kind.optional(), "{}", kind.word());
    }
}

#[test]
fn the_table_of_ranges_is_the_programs_own() {
    let in_files = Quantity::ALL
        .into_iter()
        .filter(|q| !matches!(q, Quantity::Current | Quantity::Frequency | Quantity::Level));
    for quantity in in_files {
        assert_eq!(row(quantity.name())[2], quantity.range_in_words());
    }
}

#[test]
fn the_values_it_shows_are_read() {
    for (quantity, text) in [
        (Quantity::Resistance, "4k7"),
        (Quantity::Resistance, "4.7 kΩ"),
        (Quantity::Resistance, "4,7k"),
        (Quantity::Resistance, "2M2"),
        (Quantity::Resistance, "R47"),
        (Quantity::Capacitance, "0.022 µF"),
        (Quantity::Capacitance, "100p"),
        (Quantity::RatedPower, "0.5 W"),
        (Quantity::BiasVoltage, "-30 V"),
        (Quantity::Tolerance, "5%"),
    ] {
        assert!(MANUAL.contains(text), "{text}");
        assert!(quantity.parse(text).is_ok(), "{text}");
    }
    assert!(MANUAL.contains("4,700") && Quantity::Resistance.parse("4,700").is_err());
}

#[test]
fn the_guitar_on_the_page_is_read() {
    let guitar = circuit::read_guitar(blocks()[7].as_bytes()).expect("a valid guitar");
    assert_eq!(guitar.name, "Saturday guitar");
    assert_eq!(guitar.pickup_henries, 3.1);
    assert_eq!(guitar.lead_farads, 900e-12);
}
