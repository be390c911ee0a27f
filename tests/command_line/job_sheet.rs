//! `presolder sheet` from outside: the page with everything in it, the same report as JSON, faults
//! with their exit codes, and files that are written whole or not at all.

use crate::program::{json, number, refused, said, text as path_text};
use crate::sheet::{elements, rows, text, tree, under};

#[test]
fn the_whole_sheet_of_the_smallest_amp() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("job.html");
    let prices = folder.path().join("prices.toml");
    let invented = include_str!("../../presets/prices.toml");
    std::fs::write(&prices, invented.replace("\"coins\"", "\"groats\"")).unwrap();
    std::fs::write(&out, "an older sheet").unwrap();
    let arguments = [
        "sheet",
        "mizzle",
        "--proposal",
        "calmer",
        "--prices",
        path_text(&prices),
        "--out",
        path_text(&out),
    ];
    let answer = json(&arguments);
    let html = std::fs::read_to_string(&out).unwrap();
    let page = tree(&html);
    assert!(html.contains("Invented data"));
    assert!(html.contains(concat!("Presolder ", env!("CARGO_PKG_VERSION"))));
    // Nothing else is left in the folder.
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);

    // The page and JSON show one report.
    assert_eq!(answer["amp"], "Mizzle 5");
    assert_eq!(answer["proposed"]["name"], "Cooler and darker");
    assert_eq!(answer["file"], path_text(&out));
    let items = answer["items"].as_array().unwrap();
    assert_eq!(items.len(), 2);
    let table = rows(under(&page, "What to buy"));
    for item in items {
        let name = item["designator"].as_str().unwrap();
        let row = table.iter().find(|r| r[0].starts_with(name)).unwrap();
        let price = number(&item["buy"]["price"]);
        assert!(
            price > 0.0 && row.contains(&format!("{price:.2}")),
            "{row:?}"
        );
    }
    assert!(text(under(&page, "What to buy")).contains("groats"));
    // R10 carries the output valve's current: twice the watts that it meets are bought.
    let bias = items.iter().find(|i| i["designator"] == "R10").unwrap();
    let met = number(&bias["buy"]["met"]["watts"]);
    let bought = number(&bias["buy"]["watts"]);
    assert!(met > 0.3 && bought >= 2.0 * met, "{met} W, {bought} W");

    // Every band holds what the amp of the file reads, and is drawn on the page.
    let pins = answer["pins"].as_array().unwrap();
    let mut bands = 0;
    for pin in pins.iter().filter(|p| p["node"] != "gnd") {
        for side in ["as_found", "proposed"] {
            let volts = number(&pin["volts"][side]);
            let range = &pin["range"][side];
            let (low, high) = (number(&range[0]), number(&range[1]));
            let close = 1e-6 + 1e-9 * volts.abs();
            assert!(low <= volts + close && volts <= high + close, "{pin}");
            bands += 1;
        }
    }
    assert!(bands >= 20);
    assert!(text(under(&page, "Expected voltages, without signal")).contains("Nine amps in ten"));
    // What stays charged, with volts at most above those at rest.
    let charged = answer["charged"].as_array().unwrap();
    assert!(charged.iter().any(|c| c["designator"] == "C7"));
    let work = text(under(&page, "Order of work"));
    assert!(
        work.contains("C7 reservoir") && work.contains("hours or days"),
        "{work}"
    );
    assert!(!answer["each"].as_array().unwrap().is_empty());
    assert!(answer["in_short"].is_string());
    assert!(!elements(&page, "svg").is_empty());
}

#[test]
fn what_cannot_be_made_is_refused_at_once_and_leaves_the_old_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let old = folder.path().join("old.html");
    std::fs::write(&old, "an older sheet").unwrap();
    let out = path_text(&old);
    let told = refused(&["sheet", "bradawl", "--out", out], 2);
    assert!(told.contains("Nothing is proposed"));
    refused(
        &["sheet", "nowhere.toml", "--set", "R1=1k", "--out", out],
        4,
    );
    refused(
        &[
            "sheet",
            "bradawl",
            "--proposal",
            "nowhere.toml",
            "--out",
            out,
        ],
        4,
    );
    let told = refused(&["sheet", "bradawl", "--set", "R505=99T", "--out", out], 1);
    assert!(told.contains("R505"), "{told}");
    let prices = folder.path().join("prices.toml");
    std::fs::write(&prices, "format = 1\n[minutes]\nresistor = -5\n").unwrap();
    let told = refused(
        &[
            "sheet",
            "bradawl",
            "--set",
            "R505=15k",
            "--prices",
            path_text(&prices),
            "--out",
            out,
        ],
        1,
    );
    assert!(told.contains("-5") && told.contains("line 3"), "{told}");
    let set = ["sheet", "bradawl", "--set", "R505=15k", "--out"];
    let told = refused(&[&set[..], &[path_text(folder.path())]].concat(), 4);
    assert!(told.contains("not a plain file"), "{told}");
    let nowhere = folder.path().join("none").join("a.html");
    refused(&[&set[..], &[path_text(&nowhere)]].concat(), 4);
    assert_eq!(std::fs::read_to_string(&old).unwrap(), "an older sheet");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    let help = said(&["help", "sheet"]);
    assert!(help.contains("--prices") && help.contains("A4"));
}
