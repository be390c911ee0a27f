//! Numbers for people: no more digits than deserved, and the trade's minus sign.

/// A number with so many significant digits, without an exponent: 162, 9.6, 0.88. What is no
/// number is a dash.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "–".into();
    }
    if value == 0.0 {
        return "0".into();
    }
    // The exponent after rounding: 9.96 to two digits is 10.
    let scientific = format!("{:.*e}", digits.saturating_sub(1), value);
    let exponent = scientific
        .split_once('e')
        .and_then(|(_, e)| e.parse::<i32>().ok())
        .unwrap_or(0);
    let places = (digits as i32 - 1 - exponent).clamp(0, 12) as usize;
    minus(&format!("{value:.places$}"))
}

/// A number with so many digits after the point.
pub fn fixed(value: f64, places: usize) -> String {
    if !value.is_finite() {
        return "–".into();
    }
    let text = format!("{value:.places$}");
    let nothing = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    minus(if nothing {
        text.trim_start_matches('-')
    } else {
        &text
    })
}

/// A difference in decibels with its sign: "+1.5", "−0.2", "0.0".
pub fn signed_db(db: f64) -> String {
    let text = fixed(db, 1);
    let positive = db > 0.0 && text != "0.0" && text != "–";
    if positive { format!("+{text}") } else { text }
}

/// Volts for a voltage chart: whole volts from 100, else three digits.
pub fn volts(volts: f64) -> String {
    if volts.abs() >= 99.5 {
        fixed(volts, 0)
    } else if volts.abs() < 0.0005 {
        "0".into()
    } else {
        significant(volts, 3)
    }
}

/// A round number as it is printed on a data sheet: three digits, without zeros behind the point:
/// "12", "2.75".
pub fn printed(value: f64) -> String {
    let text = significant(value, 3);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').into(),
        false => text,
    }
}

/// Whole per cent of a limit, with a digit more where rounding would hide which side of it: "72 %",
/// "100.3 %".
pub fn percent(percent: f64) -> String {
    let whole = fixed(percent, 0);
    if whole == "100" && percent != 100.0 {
        return format!("{} %", fixed(percent, 1));
    }
    format!("{whole} %")
}

/// A frequency to two digits: "62 Hz", "230 Hz", "4.5 kHz".
pub fn hertz(hz: f64) -> String {
    if !(hz.is_finite() && hz > 0.0) {
        return "– Hz".into();
    }
    let scale = 10f64.powf(hz.log10().floor() - 1.0);
    let hz = (hz / scale).round() * scale;
    if hz < 1000.0 {
        format!("{} Hz", significant(hz, 2))
    } else {
        format!("{} kHz", printed(hz / 1000.0))
    }
}

/// A frequency of a scale to three digits, without zeros behind the point: "31.5 Hz", "3.15 kHz".
pub fn printed_hertz(hz: f64) -> String {
    if hz >= 999.5 {
        format!("{} kHz", printed(hz / 1e3))
    } else {
        format!("{} Hz", printed(hz))
    }
}

/// The trade's minus sign, as wide as a plus.
fn minus(text: &str) -> String {
    text.replacen('-', "−", 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_the_digits_they_deserve() {
        assert_eq!(significant(162.34, 3), "162");
        assert_eq!(significant(9.96, 2), "10");
        assert_eq!(significant(0.8765, 2), "0.88");
        assert_eq!(significant(-12.345, 3), "−12.3");
        assert_eq!(significant(12345.0, 3), "12345");
        assert_eq!(significant(f64::NAN, 3), "–");
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(signed_db(1.52), "+1.5");
        assert_eq!(signed_db(-0.2), "−0.2");
        assert_eq!(signed_db(0.01), "0.0");
        assert_eq!(volts(301.7), "302");
        assert_eq!(volts(1.234), "1.23");
        assert_eq!(volts(-1e-6), "0");
        assert_eq!(printed(12.0), "12");
        assert_eq!(printed(300.0), "300");
        assert_eq!(printed(2.75), "2.75");
        assert_eq!(printed_hertz(31.5), "31.5 Hz");
        assert_eq!(printed_hertz(80.0), "80 Hz");
        assert_eq!(printed_hertz(3150.0), "3.15 kHz");
        assert_eq!(percent(71.6), "72 %");
        assert_eq!(percent(100.3), "100.3 %");
    }
}
