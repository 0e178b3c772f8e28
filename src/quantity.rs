//! Angles, numbers with a tolerance, and the one table of ranges that a part file may use.

use crate::numbers::plain;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// A plane angle. Degrees where people read or write it, radians inside formulas.
///
/// All trigonometry goes through this type (or [`Angle::between`]) and so through the `libm` crate:
/// the same input gives the same bits on every machine.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
pub struct Angle(f64);

impl Angle {
    /// No turn at all.
    pub const ZERO: Self = Self(0.0);

    /// An angle written in degrees.
    pub fn deg(degrees: f64) -> Self {
        Self(degrees * PI / 180.0)
    }

    /// An angle written in radians.
    pub const fn rad_from(radians: f64) -> Self {
        Self(radians)
    }

    /// Radians, for formulas.
    pub const fn rad(self) -> f64 {
        self.0
    }

    /// Degrees, for people.
    pub fn degrees(self) -> f64 {
        self.0 * 180.0 / PI
    }

    /// The heading of the vector (x, y), in (-180, 180] degrees.
    pub fn between(x: f64, y: f64) -> Self {
        Self(libm::atan2(y, x))
    }

    /// The angle whose cosine is `cosine`; outside -1..1 there is none.
    pub fn from_cos(cosine: f64) -> Option<Self> {
        (-1.0..=1.0)
            .contains(&cosine)
            .then(|| Self(libm::acos(cosine)))
    }

    /// The angle whose sine is `sine`, clamped to -90..90 degrees.
    pub fn from_sin_clamped(sine: f64) -> Self {
        Self(libm::asin(sine.clamp(-1.0, 1.0)))
    }

    /// Sine.
    pub fn sin(self) -> f64 {
        libm::sin(self.0)
    }

    /// Cosine.
    pub fn cos(self) -> f64 {
        libm::cos(self.0)
    }

    /// Tangent.
    pub fn tan(self) -> f64 {
        libm::tan(self.0)
    }

    /// Size without sign.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Half of it.
    #[must_use]
    pub fn half(self) -> Self {
        Self(self.0 / 2.0)
    }
}

impl std::ops::Add for Angle {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl std::ops::Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl std::ops::Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl std::ops::Mul<f64> for Angle {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}

/// A number together with how far it may be off, as the user wrote it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Toleranced {
    /// The number itself.
    pub value: f64,
    /// Half-width of the band around it; `None` when the user did not say.
    pub plus_minus: Option<f64>,
}

impl Toleranced {
    /// A number without a stated tolerance.
    pub const fn exact(value: f64) -> Self {
        Self {
            value,
            plus_minus: None,
        }
    }
}

/// What a part file may say for one kind of number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowed {
    /// What it is, for messages: "a sheet thickness".
    pub what: &'static str,
    /// Unit as printed; empty for ratios.
    pub unit: &'static str,
    /// Smallest accepted value.
    pub least: f64,
    /// Largest accepted value.
    pub most: f64,
    /// A usual value, for messages.
    pub sample: f64,
}

macro_rules! allowed {
    ($($(#[$doc:meta])* $name:ident: $what:literal, $unit:literal, $least:literal ..= $most:literal, such as $sample:literal;)*) => {
        $($(#[$doc])* pub const $name: Allowed = Allowed { what: $what, unit: $unit, least: $least, most: $most, sample: $sample };)*

        #[cfg(test)]
        const ALL: &[Allowed] = &[$($name),*];
    };
}

// The whole table in one place. The limits are engineering judgement, no source: they keep out slips of
// the pen (metres for millimetres, a lost decimal point), not unusual parts.
allowed! {
    /// Sheet thickness.
    THICKNESS_MM: "a sheet thickness", "mm", 0.1 ..= 6.0, such as 0.8;
    /// Thickness of an extension plate.
    PLATE_THICKNESS_MM: "a plate thickness", "mm", 0.1 ..= 20.0, such as 0.8;
    /// Width of the plate, across the strip.
    WIDTH_MM: "a plate width", "mm", 3.0 ..= 500.0, such as 40.0;
    /// A place in the plan.
    PLACE_MM: "a place on the board", "mm", -1000.0 ..= 1000.0, such as 12.0;
    /// A length of some feature.
    LENGTH_MM: "a length", "mm", 0.1 ..= 1000.0, such as 6.0;
    /// A height above the board.
    HEIGHT_MM: "a height above the board", "mm", 0.0 ..= 200.0, such as 3.2;
    /// A height that may lie below the board's top face.
    LEVEL_MM: "a level", "mm", -200.0 ..= 200.0, such as 6.0;
    /// Inside bend radius.
    RADIUS_MM: "an inside bend radius", "mm", 0.05 ..= 100.0, such as 1.5;
    /// Rounding of a corner in plan.
    CORNER_RADIUS_MM: "a corner radius", "mm", 0.0 ..= 200.0, such as 2.0;
    /// Bend angle of a wall.
    WALL_ANGLE_DEG: "a wall angle", "degrees", 1.0 ..= 90.0, such as 45.0;
    /// Rotation of a part in plan.
    ROTATION_DEG: "a rotation", "degrees", -360.0 ..= 360.0, such as 45.0;
    /// Keep-out or clearance.
    CLEARANCE_MM: "a clearance", "mm", 0.0 ..= 20.0, such as 0.4;
    /// Plus/minus of a length.
    PLUS_MINUS_MM: "a tolerance", "mm", 0.0 ..= 5.0, such as 0.05;
    /// Share in percent.
    PERCENT: "a percentage", "%", 0.0 ..= 100.0, such as 30.0;
    /// Filled share of a printed block: emptier ones are shells, which are not calculated.
    INFILL_PERCENT: "an infill", "%", 5.0 ..= 100.0, such as 100.0;
    /// Thickness of a die behind its face.
    BASE_MM: "the base of a die", "mm", 5.0 ..= 2000.0, such as 12.0;
    /// K-factor, distance of the neutral line from the inside over the thickness.
    K_FACTOR: "a K-factor", "", 0.05 ..= 0.7, such as 0.4;
    /// Ratio of inside radius to thickness in a K table.
    RADIUS_RATIO: "a ratio of inside radius to thickness", "", 0.0 ..= 1000.0, such as 1.0;
    /// Stress.
    STRESS_MPA: "a stress", "MPa", 1.0 ..= 3000.0, such as 200.0;
    /// Young's modulus.
    YOUNGS_MPA: "a Young's modulus", "MPa", 100.0 ..= 500_000.0, such as 115_000.0;
    /// Poisson's ratio.
    POISSON: "a Poisson's ratio", "", 0.0 ..= 0.49, such as 0.34;
    /// Thermal conductivity.
    CONDUCTIVITY_W_MK: "a thermal conductivity", "W/(m K)", 0.01 ..= 3000.0, such as 6.0;
    /// Density.
    DENSITY_KG_M3: "a density", "kg/m3", 100.0 ..= 25_000.0, such as 8940.0;
    /// Dimension of a printer or vise.
    MACHINE_MM: "a machine size", "mm", 5.0 ..= 2000.0, such as 120.0;
    /// Nozzle or line width.
    NOZZLE_MM: "a nozzle width", "mm", 0.05 ..= 2.0, such as 0.4;
    /// Size error of a printer, over a whole dimension.
    SIZE_ERROR_MM: "a printed size error", "mm", -1.0 ..= 1.0, such as 0.1;
    /// Printed length over drawn length.
    LENGTH_SCALE: "a printed length over the drawn one", "", 0.9 ..= 1.1, such as 1.0;
    /// Flattening error of arcs in meshes.
    CHORD_ERROR_MM: "a chord error", "mm", 0.0005 ..= 0.5, such as 0.01;
    /// Advance of a vise's spindle for one turn of its handle.
    SCREW_LEAD_MM: "the lead of a screw", "mm", 0.5 ..= 30.0, such as 5.0;
    /// From the axis of a vise's spindle to the hand.
    HANDLE_LENGTH_MM: "the length of a handle", "mm", 20.0 ..= 1500.0, such as 200.0;
    /// What a hand pulls with.
    HANDLE_FORCE_N: "the force of a hand", "N", 5.0 ..= 1500.0, such as 200.0;
    /// Share of the work at the handle that reaches the jaws.
    EFFICIENCY: "an efficiency", "", 0.02 ..= 1.0, such as 0.2;
    /// What a vise presses with.
    VISE_FORCE_N: "the force of a vise", "N", 50.0 ..= 500_000.0, such as 8000.0;
    /// Coulomb's coefficient of sheet on a die face.
    FRICTION: "a friction coefficient", "", 0.0 ..= 0.5, such as 0.15;
    /// Compressive yield stress of a printed block.
    PLASTIC_YIELD_MPA: "a compressive yield stress of printed plastic", "MPa", 2.0 ..= 300.0, such as 55.0;
    /// Young's modulus of a printed block.
    PLASTIC_YOUNGS_MPA: "a Young's modulus of printed plastic", "MPa", 50.0 ..= 30_000.0, such as 2500.0;
    /// Thickness of a thermal pad.
    PAD_MM: "a pad thickness", "mm", 0.05 ..= 20.0, such as 1.0;
    /// What a part or a heat pipe has to give off.
    HEAT_W: "a heat", "W", 0.0 ..= 2000.0, such as 3.0;
    /// Temperature.
    TEMPERATURE_C: "a temperature", "°C", -60.0 ..= 400.0, such as 60.0;
    /// Resistance of a path for heat.
    RESISTANCE_K_W: "a thermal resistance", "K/W", 0.001 ..= 10_000.0, such as 5.0;
    /// Resistance of an area of two faces.
    CONTACT_MM2K_W: "a contact resistance", "mm²K/W", 0.0 ..= 10_000.0, such as 32.0;
    /// Resistance of an area of a pad with its faces.
    IMPEDANCE_MM2K_W: "an impedance", "mm²K/W", 0.1 ..= 1_000_000.0, such as 275.0;
    /// Resistance of an area of a heat pipe's wall and wick.
    EVAPORATION_MM2K_W: "an evaporation resistance", "mm²K/W", 0.1 ..= 10_000.0, such as 30.0;
    /// Heat that a face gives to the air.
    LOSS_W_M2K: "a loss of bare faces", "W/(m²K)", 0.0 ..= 1000.0, such as 5.0;
    /// Thickness of solder, paste or adhesive.
    JOINT_MM: "a thickness of a joint", "mm", 0.001 ..= 5.0, such as 0.1;
    /// Share of a joint that is not filled. A joint that is nearly all hole is none.
    VOID_PERCENT: "a share of voids", "%", 0.0 ..= 94.9, such as 10.0;
    /// From a part's top to the plate above it.
    GAP_MM: "a gap", "mm", 0.01 ..= 50.0, such as 1.5;
    /// Plus/minus of a heat.
    PLUS_MINUS_W: "a tolerance", "W", 0.0 ..= 2000.0, such as 0.5;
    /// Plus/minus of a temperature.
    PLUS_MINUS_K: "a tolerance", "K", 0.0 ..= 200.0, such as 3.0;
    /// Plus/minus of a thermal resistance.
    PLUS_MINUS_K_W: "a tolerance", "K/W", 0.0 ..= 10_000.0, such as 0.5;
    /// Plus/minus of the resistance of an area.
    PLUS_MINUS_MM2K_W: "a tolerance", "mm²K/W", 0.0 ..= 10_000.0, such as 5.0;
    /// Plus/minus of a thermal conductivity.
    PLUS_MINUS_W_MK: "a tolerance", "W/(m K)", 0.0 ..= 3000.0, such as 0.3;
}

impl Allowed {
    /// The unit as it follows a number: with a space before it, or nothing for a ratio.
    pub fn unit_after_space(&self) -> String {
        if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        }
    }

    /// Says in plain words why `value` is not accepted, or nothing when it is.
    pub fn objection(&self, value: f64) -> Option<String> {
        let unit = self.unit_after_space();
        if value.is_nan() {
            Some(format!("{} cannot be 'nan' (not a number)", self.what))
        } else if value.is_infinite() {
            Some(format!("{} cannot be infinite", self.what))
        } else if value < 0.0 && self.least >= 0.0 {
            Some(format!(
                "{} cannot be negative: {}{unit}",
                self.what,
                plain(value)
            ))
        } else if value < self.least {
            Some(format!(
                "{} of {}{unit} is below the least coldstep takes, {}{unit}",
                self.what,
                plain(value),
                plain(self.least)
            ))
        } else if value > self.most {
            Some(format!(
                "{} of {}{unit} is above the most coldstep takes, {}{unit}",
                self.what,
                plain(value),
                plain(self.most)
            ))
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn degrees_and_radians_are_one_angle() {
        assert_relative_eq!(Angle::deg(90.0).rad(), PI / 2.0);
        assert_relative_eq!(Angle::rad_from(PI).degrees(), 180.0);
        assert_relative_eq!(Angle::deg(30.0).sin(), 0.5, epsilon = 1e-15);
    }

    #[test]
    fn objections_name_the_reason() {
        assert!(
            THICKNESS_MM
                .objection(f64::NAN)
                .is_some_and(|text| text.contains("nan"))
        );
        assert!(
            THICKNESS_MM
                .objection(-1.0)
                .is_some_and(|text| text.contains("negative"))
        );
        assert!(
            THICKNESS_MM
                .objection(1e300)
                .is_some_and(|text| text.contains("above"))
        );
        assert_eq!(THICKNESS_MM.objection(1.0), None);
    }

    /// A sample that is refused would be a bad one.
    #[test]
    fn every_sample_is_accepted() {
        for allowed in ALL {
            assert_eq!(allowed.objection(allowed.sample), None, "{allowed:?}");
        }
    }
}
