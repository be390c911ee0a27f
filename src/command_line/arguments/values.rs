//! What a value on the command line may be, beside a number or a path.

/// "R14=33k": a name and a value. What they mean is for the circuit to say.
pub fn name_and_value(text: &str) -> Result<String, String> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() && !value.trim().is_empty() => {
            Ok(text.to_string())
        }
        _ => Err("write it as NAME=VALUE, like R14=33k or Volume=0.6".into()),
    }
}

/// An idle that a valve could have.
pub fn idle_percent(text: &str) -> Result<f64, String> {
    match text.trim_end_matches('%').trim().parse::<f64>() {
        Ok(percent) if (1.0..=200.0).contains(&percent) => Ok(percent),
        Ok(_) => Err("it must lie between 1 and 200 per cent of the limit".into()),
        Err(_) => Err("it is not a number".into()),
    }
}

/// A level that a sane converter could have: −60 to +60 dBu.
pub fn dbu(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(level) if (-60.0..=60.0).contains(&level) => Ok(level),
        Ok(_) => Err("it must lie between -60 and 60 dBu".into()),
        Err(_) => Err("it is not a number".into()),
    }
}

/// A lift that a pedal could give: 0 to 60 dB.
pub fn boost(text: &str) -> Result<f64, String> {
    match text.trim_end_matches("dB").trim().parse::<f64>() {
        Ok(db) if (0.0..=60.0).contains(&db) => Ok(db),
        Ok(_) => Err("it must lie between 0 and 60 dB".into()),
        Err(_) => Err("it is not a number".into()),
    }
}
