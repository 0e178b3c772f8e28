//! The section of a wide sheet in pure bending: moment, thinning, where no length changes, and what is left of the
//! bend when it is let go.
//!
//! A piece of sheet of length L and thickness t is bent through the angle θ. Nothing widens (plane strain) and no
//! volume is lost, so a fibre that lay at the height Y above the middle comes to the radius r with
//!
//! `r² = a²·(1 + 2κ·(Y − Y₀))`, `κ = 1/a = θ/L`
//!
//! where a is the radius of the fibre Y₀ whose length is the old one. Its logarithmic strain is
//! `e = ln(r/a) = ½·ln(1 + 2κ·(Y − Y₀))`. No thickness and no neutral line is assumed: one unknown, Y₀, is left, and
//! the pressure between the fibres decides it. With s the stress along a fibre less the stress through the sheet,
//!
//! - `dσᵣ/dr = s/r` and free faces: `∫ s/r dr = 0`, which is `∫ s/(1 + 2κz) dY = 0` with `z = Y − Y₀`
//! - moment per width: `M = ½·∫ s·r dr`, which with the line above is `M = ∫ s·z/(1 + 2κz) dY`
//!
//! Bending goes forward in small steps and every fibre keeps its history ([`super::fibre`]), for the line between
//! pulled and pressed fibres wanders inwards and turns fibres round that it passes. Letting go is the same
//! calculation with the curvature taken back until `M = 0`; fibres may yield again on the way.
//!
//! # Source
//! Kinematics and both integrals: Hill (1950), The Mathematical Theory of Plasticity, there for a metal
//! without hardening (from memory); written out here for any hardening, own derivation.
//!
//! # Left out
//! Contact pressure and shear of a real die, stretching over its edges, a narrow strip's curl across, and the change
//! of E with strain. Elastic volume change enters through `E/(1 − ν²)` only.

use super::fibre::{Fibre, FibreLaw};
use super::flow::Hardening;
use crate::numbers::plain;
use crate::numeric::root::{MOST_STEPS, NotConverged, rising_root};

/// How finely the section is cut and bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionFineness {
    /// Layers through the thickness; each holds two fibres (Gauss).
    pub layers: u16,
    /// Growth of thickness times curvature in one step of bending.
    pub step: f64,
}

impl SectionFineness {
    /// Moments within 0.1 % and radii within 0.001 thicknesses of far finer cuts (see the tests). Own choice.
    pub const USUAL: Self = Self {
        layers: 24,
        step: 0.05,
    };
}

/// Curvature times thickness beyond which nothing is calculated: the inside radius falls below a tenth of the
/// thickness. Own choice.
pub const MOST_CURVATURE_RATIO: f64 = 2.5;

/// Least inside radius over thickness to which a bend is looked for. Own choice, as [`MOST_CURVATURE_RATIO`].
pub const LEAST_RADIUS_RATIO: f64 = 0.1;

/// Change of Y₀ over thickness at which a balance counts as found; Newton's next step would be far smaller.
const OFFSET_FOUND: f64 = 1e-9;

/// Left moment over the moment before letting go. Springback angles then err by less than this share.
const MOMENT_LEFT: f64 = 1e-9;

/// Deviation of the kept curvature from the wanted one, as a share of the wanted.
const CURVATURE_FOUND: f64 = 1e-8;

/// Where a Gauss point of two lies from the middle of its layer, in half layers: 1/√3.
const GAUSS: f64 = 0.577_350_269_189_625_8;

/// Why a bend was not calculated.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BendError {
    /// Too sharp, or no number.
    #[error("curvature times thickness is {}, bends are calculated up to {}", plain(*ratio), plain(MOST_CURVATURE_RATIO))]
    TooSharp {
        /// Curvature times thickness that was asked for.
        ratio: f64,
    },
    /// A search did not end.
    #[error("the section of the bend was not balanced in {steps} steps, {residual:e} is left")]
    NotConverged {
        /// What is left over, as a share.
        residual: f64,
        /// Steps taken.
        steps: u32,
    },
}

impl From<NotConverged> for BendError {
    fn from(NotConverged { residual, steps }: NotConverged) -> Self {
        Self::NotConverged { residual, steps }
    }
}

/// A wide sheet to be bent.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetSection {
    thickness_mm: f64,
    law: FibreLaw,
    step: f64,
    /// Height above the middle and share of the thickness of each fibre, in thicknesses, from the inside face.
    fibres: Vec<(f64, f64)>,
}

/// The sheet at one curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curved {
    /// Bend angle over the length bent, rad/mm: one over the radius of the fibre that has its old length.
    pub curvature_per_mm: f64,
    /// Radius of the concave face, mm; infinite when flat, like the next two.
    pub inside_radius_mm: f64,
    /// Radius of the convex face, mm.
    pub outside_radius_mm: f64,
    /// Radius at which the old length is found, mm.
    pub unlengthened_radius_mm: f64,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Logarithmic strain along the concave face, negative.
    pub inside_strain: f64,
    /// Logarithmic strain along the convex face.
    pub outside_strain: f64,
    /// Distance from the concave face to where the old length is found, over the thickness before bending.
    pub k_factor: f64,
}

/// A bend, held and let go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionBend {
    /// While it is held.
    pub held: Curved,
    /// Moment that holds it, N (N·mm per mm of width).
    pub moment_n: f64,
    /// Radius between pressed and pulled fibres while it is held, mm.
    pub neutral_radius_mm: f64,
    /// After letting go.
    pub kept: Curved,
}

impl SectionBend {
    /// Bend angle kept over bend angle held, the springback factor kR.
    pub fn angle_kept(&self) -> f64 {
        self.kept.curvature_per_mm / self.held.curvature_per_mm
    }

    /// Curvature lost in letting go, 1/mm.
    pub fn curvature_lost_per_mm(&self) -> f64 {
        self.held.curvature_per_mm - self.kept.curvature_per_mm
    }
}

/// The fibres at one curvature; lengths in thicknesses.
#[derive(Debug, Clone)]
struct State {
    /// κ.
    curvature: f64,
    /// Y₀.
    offset: f64,
    /// M over the square of the thickness, MPa.
    moment_mpa: f64,
    fibres: Vec<Fibre>,
    stresses_mpa: Vec<f64>,
}

/// Both integrals, and how the first changes with Y₀; all MPa, for the thickness is 1.
struct Sums {
    force: f64,
    force_slope: f64,
    moment: f64,
}

impl SheetSection {
    /// A sheet with isotropic hardening, at the usual fineness.
    ///
    /// # Units
    /// - `youngs_mpa`, `poisson`: of the metal; the plane-strain modulus is formed here
    pub fn new(thickness_mm: f64, youngs_mpa: f64, poisson: f64, hardening: Hardening) -> Self {
        Self {
            thickness_mm,
            law: FibreLaw::new(youngs_mpa / (1.0 - poisson * poisson), hardening, 0.0),
            step: 0.0,
            fibres: Vec::new(),
        }
        .with_fineness(SectionFineness::USUAL)
    }

    /// The same with a share of the hardening, 0 to 1, that shifts the elastic range; see [`FibreLaw::new`].
    ///
    /// # Valid for
    /// Wide bends; sharp ones with a small share only. The shift follows the tensile curve and does not saturate,
    /// so a metal that hardened to several times its first yield gets no elastic range wide enough to be let go.
    #[must_use]
    pub fn with_kinematic_share(mut self, share: f64) -> Self {
        self.law = self.law.with_kinematic_share(share);
        self
    }

    /// The same cut and bent more finely or more coarsely.
    #[must_use]
    pub fn with_fineness(mut self, fineness: SectionFineness) -> Self {
        let layers = fineness.layers.max(2);
        let height = 1.0 / f64::from(layers);
        self.fibres = (0..layers)
            .flat_map(|layer| {
                [-GAUSS, GAUSS].map(|place| {
                    let middle = (f64::from(layer) + 0.5) * height - 0.5;
                    (middle + place * height / 2.0, height / 2.0)
                })
            })
            .collect();
        self.step = fineness.step.max(1e-4);
        self
    }

    /// Curvature at which the faces begin to yield, 1/mm: `2·(2/√3)·Y/(E'·t)`.
    ///
    /// Source: own derivation; strain κ·t/2 at the face reaches yield.
    pub fn first_yield_curvature_per_mm(&self) -> f64 {
        2.0 * self.law.first_yield_mpa() / (self.law.plane_mpa() * self.thickness_mm)
    }

    /// Bends a flat sheet to a curvature, angle over length, and lets it go.
    ///
    /// # Valid for
    /// Curvature times thickness above 0, up to [`MOST_CURVATURE_RATIO`].
    ///
    /// # Errors
    /// [`BendError`].
    pub fn bent_to(&self, curvature_per_mm: f64) -> Result<SectionBend, BendError> {
        let held = self.bent_on(&self.flat(), curvature_per_mm * self.thickness_mm, None)?;
        let kept = self.let_go(&held)?;
        Ok(self.bend(&held, &kept))
    }

    /// Bends a flat sheet just so far that it keeps an inside radius when it is let go.
    ///
    /// # Valid for
    /// A radius of at least [`LEAST_RADIUS_RATIO`] thicknesses.
    ///
    /// # Errors
    /// [`BendError`].
    pub fn bent_to_keep(&self, inside_radius_mm: f64) -> Result<SectionBend, BendError> {
        // Seen from mid-thickness a flat sheet is no special case: its curvature is 0.
        let ratio = inside_radius_mm / self.thickness_mm;
        let wanted = 1.0 / (ratio + 0.5);
        if !(ratio >= LEAST_RADIUS_RATIO && wanted > 0.0) {
            return Err(BendError::TooSharp { ratio: wanted });
        }
        // A little short of the goal, so that what follows is a small way from here.
        let start = self.bent_on(&self.flat(), 0.97 * wanted, None)?;
        let short = wanted - Self::mid_curvature(&self.let_go(&start)?);
        let parts = self.parts(short);
        let (held, kept) =
            rising_root::<_, BendError>(-short, short, CURVATURE_FOUND * wanted, |more| {
                let held = self.bent_on(&start, start.curvature + more, Some(parts))?;
                let kept = self.let_go(&held)?;
                Ok((Self::mid_curvature(&kept) - wanted, (held, kept)))
            })?;
        Ok(self.bend(&held, &kept))
    }

    fn flat(&self) -> State {
        State {
            curvature: 0.0,
            offset: 0.0,
            moment_mpa: 0.0,
            fibres: vec![Fibre::fresh(&self.law); self.fibres.len()],
            stresses_mpa: vec![0.0; self.fibres.len()],
        }
    }

    /// Steps for a change of curvature.
    fn parts(&self, change: f64) -> u32 {
        let mut parts = 1_u32;
        while f64::from(parts) * self.step < change.abs() && parts < 100_000 {
            parts += 1;
        }
        parts
    }

    /// Bends on from a state, in the given number of steps or as many as the fineness asks for.
    fn bent_on(&self, from: &State, to: f64, parts: Option<u32>) -> Result<State, BendError> {
        // Written so that no number at all is refused too.
        if !(to > 0.0 && to <= MOST_CURVATURE_RATIO) {
            return Err(BendError::TooSharp { ratio: to });
        }
        let parts = parts.unwrap_or_else(|| self.parts(to - from.curvature));
        let change = (to - from.curvature) / f64::from(parts);
        let mut state = from.clone();
        let mut drift = 0.0;
        for part in 1..=parts {
            let curvature = if part == parts {
                to
            } else {
                from.curvature + f64::from(part) * change
            };
            let next = self.balanced(&state, curvature, state.offset + drift)?;
            drift = next.offset - state.offset;
            state = next;
        }
        Ok(state)
    }

    /// Takes the moment off.
    fn let_go(&self, held: &State) -> Result<State, BendError> {
        // What an elastic sheet would lose: M/(E' t³/12).
        let elastic = held.moment_mpa * 12.0 / self.law.plane_mpa();
        let enough_mpa = MOMENT_LEFT * held.moment_mpa;
        let mut offset = held.offset;
        rising_root(-held.moment_mpa, elastic, enough_mpa, |lost| {
            let state = self.balanced(held, held.curvature - lost, offset)?;
            offset = state.offset;
            Ok((-state.moment_mpa, state))
        })
    }

    /// The state at a curvature after the one given: finds Y₀ so that the faces are free.
    ///
    /// More Y₀ presses every fibre more, so the force falls as Y₀ grows: Newton's steps inside a bracket.
    fn balanced(&self, from: &State, curvature: f64, guess: f64) -> Result<State, BendError> {
        if !(-MOST_CURVATURE_RATIO..=MOST_CURVATURE_RATIO).contains(&curvature) {
            return Err(BendError::TooSharp { ratio: curvature });
        }
        let mut state = State {
            curvature,
            ..from.clone()
        };
        let (mut low, mut high) = (-0.5_f64, 0.5_f64);
        if curvature > 0.0 {
            // Beyond this the inside face would pass the centre of the bend.
            high = high.min(0.5 / curvature - 0.5);
        } else if curvature < 0.0 {
            low = low.max(0.5 / curvature + 0.5);
        }
        let mut offset = guess;
        let mut change = f64::INFINITY;
        for _ in 0..MOST_STEPS {
            if !(offset > low && offset < high) {
                offset = f64::midpoint(low, high);
            }
            let sums = self.sums(from, curvature, offset, &mut state);
            if sums.force > 0.0 {
                low = offset;
            } else {
                high = offset;
            }
            state.offset = offset;
            state.moment_mpa = sums.moment;
            change = -sums.force / sums.force_slope;
            if change.abs() < OFFSET_FOUND || high - low < OFFSET_FOUND {
                return Ok(state);
            }
            offset += change;
        }
        Err(BendError::NotConverged {
            residual: change,
            steps: MOST_STEPS,
        })
    }

    /// Strains all fibres from one state to a curvature and an offset, and adds up.
    fn sums(&self, from: &State, curvature: f64, offset: f64, to: &mut State) -> Sums {
        let mut sums = Sums {
            force: 0.0,
            force_slope: 0.0,
            moment: 0.0,
        };
        let places = self.fibres.iter().zip(&from.fibres);
        let results = to.fibres.iter_mut().zip(&mut to.stresses_mpa);
        for ((&(height, share), before), (after, stress_mpa)) in places.zip(results) {
            let above = height - offset;
            let stretched = 1.0 + 2.0 * curvature * above;
            let strain = 0.5 * libm::log1p(2.0 * curvature * above);
            let strained = before.strained(strain, &self.law);
            *after = strained.fibre;
            *stress_mpa = strained.stress_mpa;
            let weight = share / stretched;
            sums.force += strained.stress_mpa * weight;
            sums.moment += strained.stress_mpa * above * weight;
            sums.force_slope +=
                (2.0 * strained.stress_mpa - strained.slope_mpa) * curvature * weight / stretched;
        }
        sums
    }

    /// Curvature seen half a thickness outside of the concave face, in thicknesses.
    fn mid_curvature(state: &State) -> f64 {
        let inside = Self::stretch(state, -0.5);
        state.curvature / (inside + 0.5 * state.curvature)
    }

    /// Radius over radius of the unlengthened fibre, for a height in thicknesses.
    fn stretch(state: &State, height: f64) -> f64 {
        (1.0 + 2.0 * state.curvature * (height - state.offset)).sqrt()
    }

    fn curved(&self, state: &State) -> Curved {
        let radius_mm = self.thickness_mm / state.curvature;
        let (inside, outside) = (Self::stretch(state, -0.5), Self::stretch(state, 0.5));
        Curved {
            curvature_per_mm: state.curvature / self.thickness_mm,
            inside_radius_mm: radius_mm * inside,
            outside_radius_mm: radius_mm * outside,
            unlengthened_radius_mm: radius_mm,
            // Difference of the radii, written so that it holds when flat.
            thickness_mm: self.thickness_mm * 2.0 / (inside + outside),
            inside_strain: libm::log(inside),
            outside_strain: libm::log(outside),
            k_factor: (1.0 + 2.0 * state.offset) / (1.0 + inside),
        }
    }

    fn bend(&self, held: &State, kept: &State) -> SectionBend {
        SectionBend {
            held: self.curved(held),
            moment_n: held.moment_mpa * self.thickness_mm * self.thickness_mm,
            neutral_radius_mm: self.thickness_mm / held.curvature
                * Self::stretch(held, self.neutral_height(held)),
            kept: self.curved(kept),
        }
    }

    /// Height at which the stress changes its sign, straight between two fibres; in thicknesses.
    fn neutral_height(&self, state: &State) -> f64 {
        let mut before: Option<(f64, f64)> = None;
        for (&(height, _), &stress_mpa) in self.fibres.iter().zip(&state.stresses_mpa) {
            match before {
                Some((lower, pressed_mpa)) if stress_mpa >= 0.0 => {
                    return lower + (height - lower) * pressed_mpa / (pressed_mpa - stress_mpa);
                }
                _ => before = Some((height, stress_mpa)),
            }
        }
        state.offset
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const YOUNGS_MPA: f64 = 117_000.0;
    const POISSON: f64 = 0.34;
    /// Soft copper, about.
    const SOFT: Hardening = Hardening::Swift {
        k_mpa: 315.0,
        prestrain: 0.019_3,
        n: 0.4,
    };

    fn sheet(thickness_mm: f64, hardening: Hardening) -> SheetSection {
        SheetSection::new(thickness_mm, YOUNGS_MPA, POISSON, hardening)
    }

    #[test]
    fn an_elastic_bend_follows_the_beam_and_springs_flat() {
        let sheet = sheet(0.8, SOFT);
        let curvature_per_mm = 0.999 * sheet.first_yield_curvature_per_mm();
        let bend = sheet.bent_to(curvature_per_mm).unwrap();
        let plane_mpa = YOUNGS_MPA / (1.0 - POISSON * POISSON);
        // Bent metal is a little stiffer than a straight beam, by the square of curvature times thickness.
        assert_relative_eq!(
            bend.moment_n,
            plane_mpa * 0.8f64.powi(3) / 12.0 * curvature_per_mm,
            max_relative = 1e-3
        );
        assert!(bend.angle_kept().abs() < 1e-6, "{bend:?}");
        assert_relative_eq!(bend.held.k_factor, 0.5, epsilon = 1e-3);
    }

    /// Away from sharp bends the small-strain formula holds.
    #[test]
    fn a_wide_ideal_bend_is_that_of_the_formula() {
        let plane_mpa = YOUNGS_MPA / (1.0 - POISSON * POISSON);
        for (yield_mpa, radius_mm) in [(65.0, 20.0), (65.0, 400.0), (250.0, 30.0), (250.0, 120.0)] {
            let bend = sheet(1.0, Hardening::Ideal { yield_mpa })
                .bent_to(1.0 / radius_mm)
                .unwrap();
            let wide_mpa = super::super::fibre::WIDE_BEND * yield_mpa;
            let formula =
                super::super::springback::curvature_kept(radius_mm, 1.0, wide_mpa, plane_mpa)
                    .unwrap();
            assert_relative_eq!(bend.angle_kept(), formula, epsilon = 1e-3);
        }
    }

    /// What the moment does outside arrives in the fibres: checks moment, free faces and kinematics together, with
    /// no formula of theirs.
    #[test]
    fn the_work_of_the_moment_is_that_of_the_fibres() {
        let sheet = sheet(1.0, SOFT).with_kinematic_share(0.3);
        let strain_of =
            |state: &State, height: f64| libm::log(SheetSection::stretch(state, height));
        let mut state = sheet.flat();
        let (mut outside, mut inside) = (0.0, 0.0);
        for step in 1..=800_u32 {
            let next = sheet
                .balanced(&state, 0.001 * f64::from(step), state.offset)
                .unwrap();
            outside += f64::midpoint(state.moment_mpa, next.moment_mpa)
                * (next.curvature - state.curvature);
            for (index, &(height, share)) in sheet.fibres.iter().enumerate() {
                let stress_mpa = f64::midpoint(state.stresses_mpa[index], next.stresses_mpa[index]);
                inside +=
                    share * stress_mpa * (strain_of(&next, height) - strain_of(&state, height));
            }
            state = next;
        }
        assert_relative_eq!(outside, inside, max_relative = 1e-4);
    }

    #[test]
    fn no_area_is_lost() {
        let bend = sheet(1.5, SOFT).bent_to_keep(1.0).unwrap();
        for curved in [bend.held, bend.kept] {
            let Curved {
                inside_radius_mm: inside,
                outside_radius_mm: outside,
                unlengthened_radius_mm: old,
                ..
            } = curved;
            assert_relative_eq!(
                outside * outside - inside * inside,
                2.0 * old * 1.5,
                max_relative = 1e-9
            );
            assert_relative_eq!(curved.thickness_mm, outside - inside, max_relative = 1e-9);
            assert_relative_eq!(
                curved.inside_strain,
                (inside / old).ln(),
                max_relative = 1e-9
            );
            assert_relative_eq!(
                curved.outside_strain,
                (outside / old).ln(),
                max_relative = 1e-9
            );
            assert_relative_eq!(curved.k_factor, (old - inside) / 1.5, max_relative = 1e-9);
        }
        assert!(bend.neutral_radius_mm < bend.held.unlengthened_radius_mm);
        assert!(bend.held.thickness_mm < 1.5);
    }

    #[test]
    fn the_usual_fineness_keeps_its_promise() {
        for (hardening, curvature_per_mm) in [
            (SOFT, 0.2),
            (SOFT, 0.7),
            (Hardening::Ideal { yield_mpa: 250.0 }, 0.1),
        ] {
            let bent = |layers, step| {
                sheet(1.0, hardening)
                    .with_fineness(SectionFineness { layers, step })
                    .bent_to(curvature_per_mm)
                    .unwrap()
            };
            let fine = bent(160, 0.005);
            let SectionFineness { layers, step } = SectionFineness::USUAL;
            let usual = bent(layers, step);
            let coarse = bent(layers / 4, step * 4.0);
            let off = |bend: &SectionBend| (bend.moment_n / fine.moment_n - 1.0).abs();
            assert!(off(&usual) < 1e-3, "{}", off(&usual));
            assert!(off(&usual) < off(&coarse));
            for (got, wanted) in [
                (usual.held.inside_radius_mm, fine.held.inside_radius_mm),
                (usual.held.thickness_mm, fine.held.thickness_mm),
            ] {
                assert!((got - wanted).abs() < 1e-3, "{got} {wanted}");
            }
        }
    }

    #[test]
    fn a_shifted_elastic_range_springs_further_once_fibres_yield_on_the_way_back() {
        let kept = |share: f64| {
            sheet(1.0, SOFT)
                .with_kinematic_share(share)
                .bent_to(0.18)
                .unwrap()
                .angle_kept()
        };
        assert!(kept(1.0) < kept(0.0) - 1e-3, "{} {}", kept(1.0), kept(0.0));
        // A bend so wide that nothing yields on the way back does not know the share.
        let wide = |share: f64| {
            sheet(1.0, SOFT)
                .with_kinematic_share(share)
                .bent_to(0.01)
                .unwrap()
                .angle_kept()
        };
        assert_relative_eq!(wide(1.0), wide(0.0), epsilon = 1e-4);
    }

    #[test]
    fn what_cannot_be_bent_is_refused() {
        let sheet = sheet(1.0, SOFT);
        for curvature_per_mm in [0.0, -0.1, 2.6, f64::NAN, f64::INFINITY] {
            assert!(matches!(
                sheet.bent_to(curvature_per_mm),
                Err(BendError::TooSharp { .. })
            ));
        }
        for radius_mm in [-1.0, 0.0, 0.09, f64::NAN, f64::INFINITY] {
            assert!(
                matches!(
                    sheet.bent_to_keep(radius_mm),
                    Err(BendError::TooSharp { .. })
                ),
                "{radius_mm}"
            );
        }
        assert_eq!(
            BendError::TooSharp { ratio: 2.6 }.to_string(),
            "curvature times thickness is 2.6, bends are calculated up to 2.5"
        );
        // Rubber: no radius within reach takes a set.
        let rubber = SheetSection::new(1.0, 100.0, 0.4, Hardening::Ideal { yield_mpa: 3000.0 });
        assert!(rubber.bent_to_keep(1.0).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn the_wanted_radius_is_kept(
            ratio in 0.12..150.0_f64, thickness_mm in 0.3..3.0_f64, n in 0.02..0.5_f64,
            prestrain in 1e-4..0.3_f64, k_mpa in 100.0..900.0_f64, share in 0.0..0.2_f64,
        ) {
            let hardening = Hardening::Swift { k_mpa, prestrain, n };
            let bend = sheet(thickness_mm, hardening)
                .with_kinematic_share(share)
                .bent_to_keep(ratio * thickness_mm)
                .unwrap();
            prop_assert!((bend.kept.inside_radius_mm / (ratio * thickness_mm) - 1.0).abs() < 1e-6);
            prop_assert!(bend.held.inside_radius_mm < bend.kept.inside_radius_mm);
            prop_assert!(bend.angle_kept() > 0.0 && bend.angle_kept() < 1.0);
            prop_assert!((0.2..0.505).contains(&bend.kept.k_factor), "{bend:?}");
        }

        #[test]
        fn a_sheet_twice_as_thick_is_the_same_bend_twice_as_large(ratio in 0.2..50.0_f64) {
            let one = sheet(1.0, SOFT).bent_to_keep(ratio).unwrap();
            let two = sheet(2.0, SOFT).bent_to_keep(2.0 * ratio).unwrap();
            // A power of two changes no digit.
            prop_assert_eq!(two.moment_n, 4.0 * one.moment_n);
            prop_assert_eq!(two.held.inside_radius_mm, 2.0 * one.held.inside_radius_mm);
            prop_assert_eq!(two.kept.k_factor, one.kept.k_factor);
        }

        #[test]
        fn any_kinematic_share_is_answered_or_refused(share in 0.0..=1.0_f64, ratio in 0.1..30.0_f64) {
            if let Ok(bend) = sheet(1.0, SOFT).with_kinematic_share(share).bent_to_keep(ratio) {
                prop_assert!(bend.moment_n.is_finite() && bend.angle_kept() < 1.0);
            }
        }
    }
}
