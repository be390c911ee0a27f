//! What a number stands for: name, unit and allowed range in one place.

/// What a number stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Resistor or pot, Ω.
    Resistance,
    /// Resistance of a winding, Ω.
    WindingResistance,
    /// Source resistance of a supply, Ω.
    SourceResistance,
    /// Load or rated impedance, Ω.
    Impedance,
    /// Capacitor, F.
    Capacitance,
    /// Inductor, H.
    Inductance,
    /// Positive supply, V.
    SupplyVoltage,
    /// Negative supply, V.
    BiasVoltage,
    /// Any other source, V.
    SourceVoltage,
    /// R.m.s. voltage of a winding, V.
    WindingVoltage,
    /// What a meter shows, V.
    Reading,
    /// Input resistance of a meter, Ω.
    MeterResistance,
    /// Voltage rating, V.
    RatedVoltage,
    /// Power rating, W.
    RatedPower,
    /// Current, A.
    Current,
    /// Tolerance as a share.
    Tolerance,
    /// Share of a whole: a pot's rotation, a tap's turns.
    Share,
    /// Frequency, Hz.
    Frequency,
    /// Level or gain, dB.
    Level,
}

/// Family of units that a quantity is written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Unit {
    Ohm,
    Farad,
    Henry,
    Volt,
    Watt,
    Ampere,
    Hertz,
    Decibel,
    Percent,
    Plain,
}

impl Quantity {
    /// All quantities.
    pub const ALL: [Quantity; 19] = [
        Quantity::Resistance,
        Quantity::WindingResistance,
        Quantity::SourceResistance,
        Quantity::Impedance,
        Quantity::Capacitance,
        Quantity::Inductance,
        Quantity::SupplyVoltage,
        Quantity::BiasVoltage,
        Quantity::SourceVoltage,
        Quantity::WindingVoltage,
        Quantity::Reading,
        Quantity::MeterResistance,
        Quantity::RatedVoltage,
        Quantity::RatedPower,
        Quantity::Current,
        Quantity::Tolerance,
        Quantity::Share,
        Quantity::Frequency,
        Quantity::Level,
    ];

    /// Name, unit, least and greatest allowed value in SI units.
    ///
    /// The ranges are ours: they span what a guitar amplifier holds, from the smallest sense
    /// resistor to the largest grid leak, and keep the equations well scaled.
    const fn facts(self) -> (&'static str, Unit, f64, f64) {
        match self {
            Quantity::Resistance => ("resistance", Unit::Ohm, 0.1, 22e6),
            Quantity::WindingResistance => ("winding resistance", Unit::Ohm, 0.01, 10e3),
            Quantity::SourceResistance => ("source resistance", Unit::Ohm, 0.0, 1e6),
            Quantity::Impedance => ("impedance", Unit::Ohm, 1.0, 1e6),
            Quantity::Capacitance => ("capacitance", Unit::Farad, 0.1e-12, 10e-3),
            Quantity::Inductance => ("inductance", Unit::Henry, 1e-6, 1e3),
            Quantity::SupplyVoltage => ("supply voltage", Unit::Volt, 1.0, 1e3),
            Quantity::BiasVoltage => ("bias voltage", Unit::Volt, -200.0, -0.1),
            Quantity::SourceVoltage => ("source voltage", Unit::Volt, -1e3, 1e3),
            Quantity::WindingVoltage => ("winding voltage", Unit::Volt, 1.0, 700.0),
            Quantity::Reading => ("reading", Unit::Volt, -1e3, 1e3),
            Quantity::MeterResistance => ("meter resistance", Unit::Ohm, 10e3, 1e9),
            Quantity::RatedVoltage => ("voltage rating", Unit::Volt, 1.0, 10e3),
            Quantity::RatedPower => ("power rating", Unit::Watt, 0.01, 1e3),
            Quantity::Current => ("current", Unit::Ampere, 0.0, 100.0),
            Quantity::Tolerance => ("tolerance", Unit::Percent, 0.0001, 0.9),
            Quantity::Share => ("share", Unit::Plain, 0.0, 1.0),
            Quantity::Frequency => ("frequency", Unit::Hertz, 0.01, 10e6),
            Quantity::Level => ("level", Unit::Decibel, -200.0, 200.0),
        }
    }

    /// Name in the trade's words.
    pub fn name(self) -> &'static str {
        self.facts().0
    }

    /// Sign of the unit, such as "Ω"; empty for a plain share.
    pub fn unit(self) -> &'static str {
        match self.facts().1 {
            Unit::Ohm => "Ω",
            Unit::Farad => "F",
            Unit::Henry => "H",
            Unit::Volt => "V",
            Unit::Watt => "W",
            Unit::Ampere => "A",
            Unit::Hertz => "Hz",
            Unit::Decibel => "dB",
            Unit::Percent => "%",
            Unit::Plain => "",
        }
    }

    /// Least and greatest allowed value, SI units.
    pub fn range(self) -> (f64, f64) {
        (self.facts().2, self.facts().3)
    }

    /// The allowed range in words: "0.1 Ω to 22 MΩ".
    pub fn range_in_words(self) -> String {
        let (least, greatest) = self.range();
        format!("{} to {}", self.in_words(least), self.in_words(greatest))
    }

    pub(crate) fn family(self) -> Unit {
        self.facts().1
    }
}
