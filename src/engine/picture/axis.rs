//! Range and labels of an axis.

/// Step of the labels for a span in decibels.
fn label_step(span: f64) -> f64 {
    [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|step| span / step <= 8.0)
        .unwrap_or(20.0)
}

/// Range and labels of a vertical axis that holds all the values.
pub fn axis(low: f64, high: f64) -> (f64, f64, Vec<f64>) {
    let step = label_step((high - low).max(0.5));
    let first = (low / step).floor();
    let last = (high / step).ceil().max(first + 1.0);
    let labels = (first as i64..=last as i64).map(|n| n as f64 * step);
    (first * step, last * step, labels.collect())
}

/// "20", "500", "1k", "20k".
pub fn hertz(hz: &f64) -> String {
    if *hz < 1000.0 {
        format!("{hz:.0}")
    } else {
        format!("{:.0}k", hz / 1000.0)
    }
}

/// A number of decibels without needless digits, with a proper minus sign.
pub fn decibels(db: f64, sign: bool) -> String {
    let rounded = (db * 10.0).round() / 10.0 + 0.0;
    let plus = if sign && rounded > 0.0 { "+" } else { "" };
    format!("{plus}{rounded}").replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_few_and_round() {
        assert_eq!(
            axis(12.7, 39.0),
            (10.0, 40.0, vec![10., 15., 20., 25., 30., 35., 40.])
        );
        assert_eq!(decibels(-4.96, true), "−5");
        assert_eq!(decibels(4.5, true), "+4.5");
        assert_eq!(decibels(-0.01, true), "0");
        assert_eq!(hertz(&20_000.0), "20k");
    }
}
