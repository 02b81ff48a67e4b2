//! Quantities and the units that measure them.

use std::fmt;

/// What a number measures.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Base unit: metre.
    Length,
    /// Base unit: degree.
    Angle,
    /// Base unit: second.
    Time,
    /// Base unit: kilogram.
    Mass,
    /// Base unit: metre per second.
    Speed,
    /// Base unit: newton.
    Force,
    /// Base unit: watt.
    Power,
    /// Base unit: pascal.
    Pressure,
    /// Base unit: litre.
    Volume,
}

impl Quantity {
    /// All quantities, in the order of [`Units`].
    pub const ALL: [Quantity; 9] = [
        Quantity::Length,
        Quantity::Angle,
        Quantity::Time,
        Quantity::Mass,
        Quantity::Speed,
        Quantity::Force,
        Quantity::Power,
        Quantity::Pressure,
        Quantity::Volume,
    ];

    /// The word for it in dialect files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Quantity::Length => "length",
            Quantity::Angle => "angle",
            Quantity::Time => "time",
            Quantity::Mass => "mass",
            Quantity::Speed => "speed",
            Quantity::Force => "force",
            Quantity::Power => "power",
            Quantity::Pressure => "pressure",
            Quantity::Volume => "volume",
        }
    }

    /// The unit that all computing is done in.
    pub fn base_unit(self) -> Unit {
        let known = KNOWN
            .iter()
            .find(|known| known.quantity == self && known.to_base == 1.0);
        match known {
            Some(known) => known.unit(),
            // Not reached: every quantity has a unit of factor 1 (see the test).
            None => Unit {
                name: String::new(),
                label: String::new(),
                quantity: self,
                to_base: 1.0,
            },
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A unit of measurement.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// The symbol, as dialect files write it: `cm`.
    pub name: String,
    /// The plural for sentences: `centimetres`.
    pub label: String,
    /// What it measures.
    pub quantity: Quantity,
    /// How many base units one of it is: 0.01 for `cm`.
    pub to_base: f64,
}

impl Unit {
    /// The well-known unit with this symbol.
    pub fn known(symbol: &str) -> Option<Unit> {
        let known = KNOWN.iter().find(|known| known.symbol == symbol)?;
        Some(known.unit())
    }

    /// The symbol of the well-known unit that is spelled out like this
    /// (`centimetre`, `centimetres`, `CM`), to help a reader of the message.
    pub(crate) fn symbol_for_label(label: &str) -> Option<&'static str> {
        let label = label.trim().to_lowercase().replace("meter", "metre");
        let known = KNOWN.iter().find(|known| {
            known.symbol.to_lowercase() == label
                || known.label == label
                || known.label == format!("{label}s")
        });
        known.map(|known| known.symbol)
    }

    /// All well-known units of a quantity.
    pub fn all_known(quantity: Quantity) -> impl Iterator<Item = &'static str> + Clone {
        let of_quantity = KNOWN.iter().filter(move |known| known.quantity == quantity);
        of_quantity.map(|known| known.symbol)
    }

    /// What stands behind a number: the symbol of a well-known unit, which
    /// everybody reads, else the label (`6 m`, but `50 ticks`).
    pub fn symbol(&self) -> &str {
        match KNOWN.iter().any(|known| known.symbol == self.name) {
            true => &self.name,
            false => &self.label,
        }
    }

    /// A number of this unit in base units.
    pub fn to_base(&self, number: f64) -> f64 {
        match self.to_base < 1.0 {
            // 165 / 100 is 1.65, but 165 · 0.01 is 1.6500000000000001.
            true => number / self.to_base.recip(),
            false => number * self.to_base,
        }
    }

    /// A number of base units in this unit.
    pub fn from_base(&self, number: f64) -> f64 {
        number / self.to_base
    }
}

/// The unit of each quantity where nothing else is said.
#[derive(Clone, Debug, PartialEq)]
pub struct Units {
    of: [Unit; Quantity::ALL.len()],
}

impl Units {
    /// The unit of a quantity.
    pub fn of(&self, quantity: Quantity) -> &Unit {
        &self.of[quantity as usize]
    }

    /// Makes `unit` the unit of its quantity.
    pub fn set(&mut self, unit: Unit) {
        let at = unit.quantity as usize;
        self.of[at] = unit;
    }
}

impl Default for Units {
    /// The base units.
    fn default() -> Self {
        Self {
            of: Quantity::ALL.map(Quantity::base_unit),
        }
    }
}

struct Known {
    symbol: &'static str,
    label: &'static str,
    quantity: Quantity,
    to_base: f64,
}

impl Known {
    fn unit(&self) -> Unit {
        Unit {
            name: self.symbol.to_owned(),
            label: self.label.to_owned(),
            quantity: self.quantity,
            to_base: self.to_base,
        }
    }
}

const fn known(
    symbol: &'static str,
    label: &'static str,
    quantity: Quantity,
    to_base: f64,
) -> Known {
    Known {
        symbol,
        label,
        quantity,
        to_base,
    }
}

/// SI units and those accepted beside them (SI Brochure, 9th edition, tables 4 and 8);
/// inch, foot, mile and pound by the international agreement of 1959 (0.0254 m exactly,
/// 0.453 592 37 kg exactly); metric horsepower 75 kgf·m/s.
const KNOWN: [Known; 31] = {
    use Quantity::*;
    [
        known("m", "metres", Length, 1.0),
        known("cm", "centimetres", Length, 0.01),
        known("mm", "millimetres", Length, 0.001),
        known("dm", "decimetres", Length, 0.1),
        known("km", "kilometres", Length, 1000.0),
        known("in", "inches", Length, 0.0254),
        known("ft", "feet", Length, 0.3048),
        known("deg", "degrees", Angle, 1.0),
        known("rad", "radians", Angle, 180.0 / std::f64::consts::PI),
        known("gon", "gons", Angle, 0.9),
        known("turn", "turns", Angle, 360.0),
        known("s", "seconds", Time, 1.0),
        known("ms", "milliseconds", Time, 0.001),
        known("min", "minutes", Time, 60.0),
        known("h", "hours", Time, 3600.0),
        known("kg", "kilograms", Mass, 1.0),
        known("g", "grams", Mass, 0.001),
        known("t", "tonnes", Mass, 1000.0),
        known("lb", "pounds", Mass, 0.45359237),
        known("m/s", "metres per second", Speed, 1.0),
        known("km/h", "kilometres per hour", Speed, 1.0 / 3.6),
        known("N", "newtons", Force, 1.0),
        known("kN", "kilonewtons", Force, 1000.0),
        known("W", "watts", Power, 1.0),
        known("kW", "kilowatts", Power, 1000.0),
        known("hp", "metric horsepower", Power, 735.49875),
        known("Pa", "pascals", Pressure, 1.0),
        known("kPa", "kilopascals", Pressure, 1000.0),
        known("bar", "bars", Pressure, 100_000.0),
        known("l", "litres", Volume, 1.0),
        known("m3", "cubic metres", Volume, 1000.0),
    ]
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_quantity_has_a_base_unit() {
        for quantity in Quantity::ALL {
            let unit = quantity.base_unit();
            assert!(!unit.name.is_empty(), "{quantity}");
            assert_eq!(Units::default().of(quantity), &unit);
        }
    }

    #[test]
    fn hundredths_do_not_add_noise() {
        let centimetres = Unit::known("cm").unwrap();
        assert_eq!(centimetres.to_base(165.0), 1.65);
        assert_eq!(Unit::known("ms").unwrap().to_base(1150.0), 1.15);
    }

    #[test]
    fn half_a_turn_of_radians_is_180_degrees() {
        let radians = Unit::known("rad").unwrap();
        assert!((radians.to_base(std::f64::consts::PI) - 180.0).abs() < 1e-12);
        assert!((radians.from_base(180.0) - std::f64::consts::PI).abs() < 1e-12);
    }

    #[test]
    fn a_spelled_out_unit_is_recognised_for_messages() {
        assert_eq!(Unit::symbol_for_label("Centimeters"), Some("cm"));
        assert_eq!(Unit::symbol_for_label("degree"), Some("deg"));
        assert_eq!(Unit::symbol_for_label("furlong"), None);
    }

    #[test]
    fn a_unit_of_a_dialect_is_spelled_out() {
        let metre = Quantity::Length.base_unit();
        assert_eq!(metre.symbol(), "m");
        let tick = Unit {
            name: String::from("tick"),
            label: String::from("ticks"),
            quantity: Quantity::Time,
            to_base: 0.04,
        };
        assert_eq!(tick.symbol(), "ticks");
    }
}
