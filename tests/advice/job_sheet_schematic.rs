//! The schematic on the job sheet: the whole on the last page, with what changes and in letters that can
//! be read, and a piece around the part that is worked on.

use crate::sheet::{elements, sheet, text, tree, under};
use roxmltree::Node;

/// A4 lying within the margins of the style sheet, mm.
const PAPER: [f64; 2] = [273.0, 186.0];
/// Width of a page of words, mm.
const PAGE: f64 = 184.0;

fn number(node: Node<'_, '_>, key: &str) -> f64 {
    let value = node.attribute(key).unwrap_or_else(|| panic!("no {key}"));
    value.parse().unwrap_or_else(|_| panic!("{key}={value}"))
}

/// The smallest letters of a drawing, in its own units.
fn smallest(svg: Node<'_, '_>) -> f64 {
    let texts = svg.descendants().filter(|n| n.tag_name().name() == "text");
    texts
        .map(|n| number(n, "font-size"))
        .fold(f64::MAX, f64::min)
}

fn points(mm: f64) -> f64 {
    mm / 25.4 * 72.0
}

fn view(svg: Node<'_, '_>) -> [f64; 2] {
    let view = svg.attribute("viewBox").expect("a view box");
    let numbers: Vec<f64> = view
        .split(' ')
        .map(|n| n.parse().expect("a number"))
        .collect();
    [numbers[2], numbers[3]]
}

fn svg<'a, 'i>(within: Node<'a, 'i>) -> Option<Node<'a, 'i>> {
    within.descendants().find(|n| n.tag_name().name() == "svg")
}

/// Texts of a drawing in a colour of their own: other than the title's.
fn coloured(svg: Node<'_, '_>, colour: &str) -> Vec<String> {
    let texts = svg.descendants().filter(|n| n.tag_name().name() == "text");
    texts
        .filter(|n| n.attribute("fill") == Some(colour))
        .map(text)
        .collect()
}

#[test]
fn the_schematic_shows_what_changes_and_can_be_read() {
    for (amp, change, designator, value) in [
        ("bradawl", "R505=15k", "R505", "12k → 15k"),
        ("mizzle", "R1=470k", "R1", "→ 470k"),
        ("spokeshave", "R18=150", "R18", "130 → 150"),
        ("sluice", "R504=18k", "R504", "22k → 18k"),
    ] {
        let sheet = sheet(amp, &[change]);
        let tree = tree(&sheet.html);
        let whole = elements(&tree, "section").pop().expect("sections");
        assert_eq!(whole.attribute("class"), Some("schematic"), "{amp}");
        let whole = svg(whole).expect("a drawing");
        let changed = coloured(whole, "#005496");
        assert!(
            changed.iter().any(|t| t == designator),
            "{amp}: {changed:?}"
        );
        assert!(
            changed.iter().any(|t| t.ends_with(value)),
            "{amp}: {changed:?}"
        );
        let drawn = text(whole);
        for part in sheet.as_found.parts() {
            assert!(
                drawn.contains(&part.designator),
                "{amp}: {}",
                part.designator
            );
        }
        let [wide, tall] = view(whole);
        let unit = (PAPER[0] / wide).min(PAPER[1] / tall);
        let letters = points(smallest(whole) * unit);
        assert!(letters >= 6.0, "{amp}: {letters} pt");

        let work = under(&tree, "Order of work");
        let piece = svg(work).expect("a piece");
        assert!(text(piece).contains(designator), "{amp}");
        let style = piece
            .parent()
            .and_then(|p| p.attribute("style"))
            .expect("a width");
        let wide = style
            .split(['m', ':'])
            .find_map(|word| word.trim().parse::<f64>().ok());
        let unit = wide.expect("millimetres").min(PAGE) / view(piece)[0];
        let letters = points(smallest(piece) * unit);
        assert!(letters >= 6.0, "{amp}: {letters} pt in the piece");
        let first = work.descendants().find(|n| n.tag_name().name() == "h3");
        assert!(
            first.is_some_and(|h| h.range().start > piece.range().end),
            "{amp}"
        );
    }
}

/// Where changes are all over the amp no piece is cut.
#[test]
fn many_places_are_left_to_the_whole() {
    let sheet = sheet("sluice", &["R101=470k", "R206=1k2", "R504=18k", "C304=47u"]);
    let tree = tree(&sheet.html);
    assert!(svg(under(&tree, "Order of work")).is_none());
    assert!(svg(elements(&tree, "section").pop().expect("sections")).is_some());
}
