//! Preferred values, IEC 60063: E3 to E192.

/// A series of preferred values, named by how many there are in a decade.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Series {
    /// 3 a decade.
    E3,
    /// 6 a decade, 20 %.
    E6,
    /// 12 a decade, 10 %.
    E12,
    /// 24 a decade, 5 %.
    E24,
    /// 48 a decade, 2 %.
    E48,
    /// 96 a decade, 1 %.
    E96,
    /// 192 a decade, 0.5 % and closer.
    E192,
}

/// E24 in hundredths; E12, E6 and E3 are every second, fourth and eighth of it.
const E24: [u16; 24] = [
    100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300, 330, 360, 390, 430, 470, 510, 560,
    620, 680, 750, 820, 910,
];

/// E192 in hundredths; E96 and E48 are every second and fourth of it.
#[rustfmt::skip]
const E192: [u16; 192] = [
    100, 101, 102, 104, 105, 106, 107, 109, 110, 111, 113, 114, 115, 117, 118, 120,
    121, 123, 124, 126, 127, 129, 130, 132, 133, 135, 137, 138, 140, 142, 143, 145,
    147, 149, 150, 152, 154, 156, 158, 160, 162, 164, 165, 167, 169, 172, 174, 176,
    178, 180, 182, 184, 187, 189, 191, 193, 196, 198, 200, 203, 205, 208, 210, 213,
    215, 218, 221, 223, 226, 229, 232, 234, 237, 240, 243, 246, 249, 252, 255, 258,
    261, 264, 267, 271, 274, 277, 280, 284, 287, 291, 294, 298, 301, 305, 309, 312,
    316, 320, 324, 328, 332, 336, 340, 344, 348, 352, 357, 361, 365, 370, 374, 379,
    383, 388, 392, 397, 402, 407, 412, 417, 422, 427, 432, 437, 442, 448, 453, 459,
    464, 470, 475, 481, 487, 493, 499, 505, 511, 517, 523, 530, 536, 542, 549, 556,
    562, 569, 576, 583, 590, 597, 604, 612, 619, 626, 634, 642, 649, 657, 665, 673,
    681, 690, 698, 706, 715, 723, 732, 741, 750, 759, 768, 777, 787, 796, 806, 816,
    825, 835, 845, 856, 866, 876, 887, 898, 909, 920, 931, 942, 953, 965, 976, 988,
];

impl Series {
    /// All series, coarse to fine.
    pub const ALL: [Series; 7] = [
        Series::E3,
        Series::E6,
        Series::E12,
        Series::E24,
        Series::E48,
        Series::E96,
        Series::E192,
    ];

    /// Values in one decade.
    pub fn count(self) -> usize {
        match self {
            Series::E3 => 3,
            Series::E6 => 6,
            Series::E12 => 12,
            Series::E24 => 24,
            Series::E48 => 48,
            Series::E96 => 96,
            Series::E192 => 192,
        }
    }

    /// The values of one decade in hundredths, 100 to below 1000.
    pub fn hundredths(self) -> impl Iterator<Item = u16> {
        let table: &[u16] = if self.count() <= 24 { &E24 } else { &E192 };
        table.iter().copied().step_by(table.len() / self.count())
    }

    /// The value nearest in ratio to `value`; `value` is positive and finite.
    pub fn nearest(self, value: f64) -> f64 {
        let above = self.at_or_above(value);
        let below = self.at_or_below(value);
        if above / value < value / below {
            above
        } else {
            below
        }
    }

    /// The next value up; a value of the series gives the one after it.
    pub fn next(self, value: f64) -> f64 {
        self.at_or_above(value * (1.0 + SAME))
    }

    /// The next value down; a value of the series gives the one before it.
    pub fn previous(self, value: f64) -> f64 {
        self.at_or_below(value * (1.0 - SAME))
    }

    /// Whether `value` is one of the series.
    pub fn contains(self, value: f64) -> bool {
        value > 0.0 && value.is_finite() && (self.nearest(value) / value - 1.0).abs() < SAME
    }

    fn at_or_above(self, value: f64) -> f64 {
        let exponent = decade(value);
        self.hundredths()
            .map(|h| scaled(h, exponent))
            .find(|&v| v >= value * (1.0 - SAME / 2.0))
            .unwrap_or_else(|| scaled(100, exponent + 1))
    }

    fn at_or_below(self, value: f64) -> f64 {
        let exponent = decade(value);
        self.hundredths()
            .map(|h| scaled(h, exponent))
            .take_while(|&v| v <= value * (1.0 + SAME / 2.0))
            .last()
            // Only when rounding put `value` one decade too high.
            .unwrap_or_else(|| {
                let last = self.hundredths().last().expect("a series is not empty");
                scaled(last, exponent - 1)
            })
    }
}

/// Two values closer than this share are one; far above rounding, far below E192's 1.2 % steps.
const SAME: f64 = 1e-6;

/// Power of ten of the decade that holds `value`.
fn decade(value: f64) -> i32 {
    assert!(
        value > 0.0 && value.is_finite(),
        "preferred values exist for positive values only"
    );
    (value * (1.0 + SAME / 2.0)).log10().floor() as i32
}

/// The powers of ten that a double holds exactly.
const EXACT_POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// Correctly rounded `hundredths / 100 · 10^exponent`, so that 4.7 kΩ is the double 4700.
///
/// # Real-time
/// Within the values of parts: a product or quotient of two exact numbers is rounded once.
fn scaled(hundredths: u16, exponent: i32) -> f64 {
    let exponent = exponent - 2;
    match EXACT_POWERS.get(exponent.unsigned_abs() as usize) {
        Some(power) if exponent < 0 => f64::from(hundredths) / power,
        Some(power) => f64::from(hundredths) * power,
        None => format!("{hundredths}e{exponent}")
            .parse()
            .expect("digits and an exponent"),
    }
}
