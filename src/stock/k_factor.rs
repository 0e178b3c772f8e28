//! Where the neutral line lies in a bend: K, its distance from the inside face over the thickness.
//!
//! Books disagree, so the rule is the user's choice and every answer names its rule.

use super::bending_section::{LEAST_RADIUS_RATIO, SheetSection};
use super::handbook_row::HandbookRow;
use super::metal::Metal;
use super::table::held_flat;
use crate::numbers::plain;
use crate::quantity::{K_FACTOR, RADIUS_RATIO};
use serde::Serialize;

/// Where the DIN rule was read.
pub const DIN_SOURCE: &str =
    "DIN 6935 as printed in Tabellenbuch Metall: k = 0.65 + 0.5 lg(r/s), K = k/2";

/// Where the two-value rule was read.
pub const TWO_VALUE_SOURCE: &str = "Kalpakjian & Schmid, Manufacturing Engineering and Technology, SI 6th ed. 2009, eq. 16.2: \
     0.33 for R < 2T, 0.5 for R > 2T (that 0.5 holds at 2T itself is from memory of Groover)";

/// Where the rule of a pressing comes from.
const PRESSED_SOURCE: &str = "length of the strip in the calculated pressing, less what the let-go plate has beyond the drawn ends; derived here";
/// Where the simulated rule comes from.
pub const SIMULATED_SOURCE: &str = "own calculation: pure bending of a wide strip with a hardening law through the metal's strengths; \
     a die also pulls the sheet over its edges, which lengthens it and makes K smaller";

/// What a table or a plain number is called when the user brought it.
pub const USER_SOURCE: &str = "given by the user";

/// Above this r/s the DIN rule puts the neutral line in the middle (k = 1).
/// DIN 6935 as printed in Tabellenbuch Metall, note 1.
pub const DIN_MIDDLE_RATIO: f64 = 5.0;

/// Below this r/s the DIN rule is carried past where the standard tabulates k. From memory.
pub const DIN_LEAST_RATIO: f64 = 0.65;

/// From this R/T on, the two-value rule puts the neutral line in the middle. See [`TWO_VALUE_SOURCE`].
pub const TWO_VALUE_RATIO: f64 = 2.0;

/// K by the ratio of inside radius to thickness, as the user measured or was told it.
///
/// At least two rows, ratios strictly growing; [`KTable::new`] lets no other table through.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(into = "Vec<(f64, f64)>")]
pub struct KTable {
    first: (f64, f64),
    rest: Vec<(f64, f64)>,
}

impl From<KTable> for Vec<(f64, f64)> {
    fn from(table: KTable) -> Self {
        table.points().collect()
    }
}

/// Why a K table is refused. Rows count from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum KTableError {
    /// One row is a number, not a table.
    #[error("a K table needs at least two rows, this one has {rows}")]
    TooFewRows {
        /// Rows found.
        rows: usize,
    },
    /// A ratio is not a number, or beyond [`RADIUS_RATIO`].
    #[error("row {row} of the K table: {objection}")]
    Ratio {
        /// Row that holds it.
        row: usize,
        /// The ratio of inside radius to thickness.
        ratio: f64,
        /// Why, in words.
        objection: String,
    },
    /// A K is not a number, or beyond [`K_FACTOR`].
    #[error("row {row} of the K table: {objection}")]
    K {
        /// Row that holds it.
        row: usize,
        /// The K.
        k: f64,
        /// Why, in words.
        objection: String,
    },
    /// The ratios do not grow from row to row.
    #[error("row {row} of the K table: the ratio {} does not grow, the row before has {}", plain(*ratio), plain(*ratio_before))]
    RatioNotGrowing {
        /// The later row.
        row: usize,
        /// Its ratio.
        ratio: f64,
        /// Ratio of the row before it.
        ratio_before: f64,
    },
}

impl KTable {
    /// Checks (ratio of inside radius to thickness, K) rows and keeps them.
    ///
    /// # Errors
    /// The first row that is out of range or out of order, or too few rows; see [`KTableError`].
    pub fn new(points: Vec<(f64, f64)>) -> Result<Self, KTableError> {
        let mut ratio_before = f64::NEG_INFINITY;
        for (row, &(ratio, k)) in (1..).zip(&points) {
            if let Some(objection) = RADIUS_RATIO.objection(ratio) {
                return Err(KTableError::Ratio {
                    row,
                    ratio,
                    objection,
                });
            }
            if let Some(objection) = K_FACTOR.objection(k) {
                return Err(KTableError::K { row, k, objection });
            }
            if ratio <= ratio_before {
                return Err(KTableError::RatioNotGrowing {
                    row,
                    ratio,
                    ratio_before,
                });
            }
            ratio_before = ratio;
        }
        let rows = points.len();
        let mut points = points.into_iter();
        match points.next() {
            Some(first) if rows >= 2 => Ok(Self {
                first,
                rest: points.collect(),
            }),
            _ => Err(KTableError::TooFewRows { rows }),
        }
    }

    /// The (ratio, K) rows in order.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        std::iter::once(self.first).chain(self.rest.iter().copied())
    }

    fn least_ratio(&self) -> f64 {
        self.first.0
    }

    fn most_ratio(&self) -> f64 {
        self.rest.last().unwrap_or(&self.first).0
    }
}

/// How K is chosen.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum KRule {
    /// The logarithmic rule of DIN 6935.
    #[serde(rename = "din-6935")]
    Din6935,
    /// One K per hardness of the sheet, [`HandbookRow`].
    Handbook,
    /// 0.33 for sharp bends, 0.5 for wide ones.
    TwoValue,
    /// Calculated for the metal at hand, [`SheetSection`].
    Simulated,
    /// The user's own table over the ratio of inside radius to thickness.
    Table(KTable),
    /// The user's own number; whoever reads it checks it against [`K_FACTOR`].
    Explicit(f64),
    /// What a calculated pressing of the plate itself came to; no word of a part file.
    Pressed(f64),
}

/// A K with its rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KFactor {
    /// Distance of the neutral line from the inside face over the thickness.
    pub k: f64,
    /// The rule that gave it.
    pub source: &'static str,
    /// Why a person should look at it, when the rule is used past its published range.
    pub note: Option<String>,
}

/// The k of DIN 6935 for a ratio of inside radius to thickness.
///
/// `k = 0.65 + 0.5·lg(r/s)`, and 1 for `r/s > 5`
///
/// Trap: this k counts in *half* thicknesses from the inside face, so the usual K is `k/2`.
///
/// # Valid for
/// `r/s` from [`DIN_LEAST_RATIO`] (from memory). The formula falls below zero at `r/s` = 0.0501, which would
/// put the neutral line outside the sheet; it is held at 0 there.
///
/// # Source
/// DIN 6935 as printed in Tabellenbuch Metall, note 1.
pub fn din_k(radius_ratio: f64) -> f64 {
    if radius_ratio > DIN_MIDDLE_RATIO {
        1.0
    } else {
        // `max` also turns the logarithm of nothing, -infinity, into 0.
        (0.65 + 0.5 * libm::log10(radius_ratio)).max(0.0)
    }
}

impl KRule {
    /// A rule from the user's (ratio of inside radius to thickness, K) rows.
    ///
    /// # Errors
    /// See [`KTable::new`].
    pub fn table(points: Vec<(f64, f64)>) -> Result<Self, KTableError> {
        KTable::new(points).map(Self::Table)
    }

    /// The word for the rule in part files and reports.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Din6935 => "din-6935",
            Self::Handbook => "handbook",
            Self::TwoValue => "two-value",
            Self::Simulated => "simulated",
            Self::Table(_) => "table",
            Self::Explicit(_) => "explicit",
            Self::Pressed(_) => "pressed",
        }
    }

    /// The rule in words, for sentences.
    pub const fn words(&self) -> &'static str {
        match self {
            Self::Din6935 => "DIN 6935",
            Self::Handbook => "the handbook's row for this temper",
            Self::TwoValue => "the two-value rule",
            Self::Simulated => "pure bending calculated for this metal",
            Self::Table(_) => "your K table",
            Self::Explicit(_) => "your own K",
            Self::Pressed(_) => "the calculated pressing of this plate",
        }
    }

    /// Where the rule was read; [`KRule::Handbook`] has one place for each row.
    pub const fn source(&self, row: HandbookRow) -> &'static str {
        match self {
            Self::Din6935 => DIN_SOURCE,
            Self::Handbook => row.source(),
            Self::TwoValue => TWO_VALUE_SOURCE,
            Self::Simulated => SIMULATED_SOURCE,
            Self::Table(_) | Self::Explicit(_) => USER_SOURCE,
            Self::Pressed(_) => PRESSED_SOURCE,
        }
    }

    /// K of one bend.
    ///
    /// # Units
    /// - `inside_radius_mm`, `thickness_mm`: only their ratio counts
    /// - `metal`: used by [`KRule::Handbook`] (its row) and [`KRule::Simulated`] (its strengths) alone
    ///
    /// # Valid for
    /// A positive thickness and a radius of 0 or more. Past the published range of the rule the answer
    /// carries a note.
    ///
    /// # Source
    /// Named in the answer.
    pub fn k_factor(&self, inside_radius_mm: f64, thickness_mm: f64, metal: &Metal) -> KFactor {
        let ratio = inside_radius_mm / thickness_mm;
        let (k, note) = match self {
            Self::Din6935 => (din_k(ratio) / 2.0, din_note(ratio)),
            Self::Handbook => (metal.handbook_row.k(), None),
            Self::TwoValue => (if ratio < TWO_VALUE_RATIO { 0.33 } else { 0.5 }, None),
            Self::Simulated => simulated(ratio, metal),
            Self::Table(table) => {
                let reading = held_flat(table.first, &table.rest, ratio);
                let note = (!reading.inside).then(|| {
                    format!(
                        "inside radius / thickness is {}, the K table covers {} to {}; its end value is held",
                        plain(ratio),
                        plain(table.least_ratio()),
                        plain(table.most_ratio())
                    )
                });
                (reading.value, note)
            }
            Self::Explicit(k) => (*k, K_FACTOR.objection(*k)),
            Self::Pressed(k) => (*k, None),
        };
        KFactor {
            k,
            source: self.source(metal.handbook_row),
            note,
        }
    }
}

/// K of a strip bent so far that it keeps the wanted inside radius, and why it may not be that.
fn simulated(ratio: f64, metal: &Metal) -> (f64, Option<String>) {
    let strip = SheetSection::new(1.0, metal.youngs_mpa, metal.poisson, metal.hardening().law);
    match strip.bent_to_keep(ratio.max(LEAST_RADIUS_RATIO)) {
        Ok(bend) => {
            let note = (ratio < LEAST_RADIUS_RATIO).then(|| {
                format!(
                    "inside radius / thickness is {}, bends are calculated from {} on; its K is held",
                    plain(ratio),
                    plain(LEAST_RADIUS_RATIO)
                )
            });
            (bend.kept.k_factor, note)
        }
        Err(error) => (
            din_k(ratio) / 2.0,
            Some(format!("{error}; DIN 6935 is used instead")),
        ),
    }
}

fn din_note(ratio: f64) -> Option<String> {
    if ratio >= DIN_LEAST_RATIO {
        return None;
    }
    let carried_on = if din_k(ratio) > 0.0 {
        "the formula is carried on"
    } else {
        "the formula would give less than 0, 0 is held"
    };
    Some(format!(
        "inside radius / thickness is {}, DIN 6935 tabulates k from {} on (from memory); {carried_on}",
        plain(ratio),
        plain(DIN_LEAST_RATIO)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stock::{Material, Temper};
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn published_rules() -> [KRule; 3] {
        [KRule::Din6935, KRule::Handbook, KRule::TwoValue]
    }

    fn copper() -> Metal {
        Metal::stock(Material::Copper, Temper::Soft).unwrap()
    }

    fn metal(handbook_row: HandbookRow) -> Metal {
        Metal {
            handbook_row,
            ..copper()
        }
    }

    fn k(rule: &KRule, ratio: f64) -> f64 {
        rule.k_factor(ratio, 1.0, &copper()).k
    }

    #[test]
    fn the_simulated_line_moves_inwards_in_sharp_bends_of_metal_that_hardens() {
        let ks = [0.05, 0.1, 0.5, 1.0, 3.0, 10.0, 100.0].map(|ratio| k(&KRule::Simulated, ratio));
        assert_eq!(ks[0], ks[1]);
        assert!(ks[1..].is_sorted(), "{ks:?}");
        assert!(
            (0.3..0.4).contains(&ks[1]) && (0.49..0.501).contains(&ks[6]),
            "{ks:?}"
        );
        let hard = Metal::stock(Material::Copper, Temper::Hard).unwrap();
        assert!(KRule::Simulated.k_factor(1.0, 1.0, &hard).k > ks[3]);
        let held = KRule::Simulated.k_factor(0.05, 1.0, &copper());
        assert!(held.note.is_some_and(|note| note.contains("its K is held")));
    }

    #[test]
    fn what_cannot_be_simulated_falls_back_and_says_so() {
        let rubber = Metal {
            youngs_mpa: 100.0,
            proof_mpa: 2000.0,
            tensile_mpa: 3000.0,
            ..copper()
        };
        let answer = KRule::Simulated.k_factor(1.0, 1.0, &rubber);
        assert_eq!(answer.k, k(&KRule::Din6935, 1.0));
        assert!(
            answer
                .note
                .is_some_and(|note| note.contains("DIN 6935 is used instead"))
        );
    }

    #[test]
    fn din_counts_half_thicknesses() {
        assert_relative_eq!(din_k(1.0), 0.65);
        assert_relative_eq!(k(&KRule::Din6935, 1.0), 0.325);
        assert_relative_eq!(k(&KRule::Din6935, 5.01), 0.5);
    }

    #[test]
    fn din_is_never_negative_and_says_when_it_is_stretched() {
        for ratio in [0.0, 1e-9, 0.01, 0.05, 0.3] {
            let answer = KRule::Din6935.k_factor(ratio, 1.0, &copper());
            assert!(answer.k >= 0.0, "{answer:?}");
            assert!(answer.note.is_some(), "{answer:?}");
        }
        let held = KRule::Din6935.k_factor(0.02, 1.0, &copper());
        assert_eq!(held.k, 0.0);
        assert!(held.note.is_some_and(|note| note.contains("0 is held")));
        assert_eq!(KRule::Din6935.k_factor(0.65, 1.0, &copper()).note, None);
    }

    #[test]
    fn two_values_change_at_twice_the_thickness() {
        assert_eq!(k(&KRule::TwoValue, 1.999), 0.33);
        assert_eq!(k(&KRule::TwoValue, 2.0), 0.5);
    }

    #[test]
    fn only_the_handbook_looks_at_the_row() {
        for rule in published_rules() {
            let soft = rule.k_factor(1.0, 1.0, &metal(HandbookRow::Soft)).k;
            let hard = rule.k_factor(1.0, 1.0, &metal(HandbookRow::Hard)).k;
            assert_eq!(soft != hard, rule == KRule::Handbook, "{rule:?}");
        }
    }

    #[test]
    fn a_table_is_read_between_rows_and_held_outside() {
        let rule = KRule::table(vec![(1.0, 0.30), (3.0, 0.40), (5.0, 0.50)]);
        let at = |ratio: f64| {
            rule.as_ref()
                .map(|rule| rule.k_factor(ratio * 2.0, 2.0, &copper()))
                .ok()
        };
        let inside = at(2.0);
        assert_relative_eq!(inside.as_ref().map_or(0.0, |answer| answer.k), 0.35);
        assert_eq!(inside.and_then(|answer| answer.note), None);
        let beyond = at(9.0);
        assert_relative_eq!(beyond.as_ref().map_or(0.0, |answer| answer.k), 0.50);
        assert!(
            beyond
                .and_then(|answer| answer.note)
                .is_some_and(|note| note.contains("covers 1 to 5"))
        );
    }

    #[test]
    fn a_bad_table_is_refused_with_the_row_that_is_bad() {
        assert_eq!(
            KRule::table(vec![]),
            Err(KTableError::TooFewRows { rows: 0 })
        );
        assert_eq!(
            KRule::table(vec![(1.0, 0.3)]),
            Err(KTableError::TooFewRows { rows: 1 })
        );
        assert_eq!(
            KRule::table(vec![(1.0, 0.3), (1.0, 0.4)]),
            Err(KTableError::RatioNotGrowing {
                row: 2,
                ratio: 1.0,
                ratio_before: 1.0
            })
        );
        for k in [0.049, 0.701, -0.3, f64::NAN, f64::INFINITY] {
            assert!(matches!(
                KRule::table(vec![(1.0, 0.3), (2.0, k)]),
                Err(KTableError::K { row: 2, .. })
            ));
        }
        for ratio in [-1.0, 1e6, f64::NAN, f64::INFINITY] {
            assert!(matches!(
                KRule::table(vec![(ratio, 0.3), (2.0, 0.4)]),
                Err(KTableError::Ratio { row: 1, .. })
            ));
        }
    }

    #[test]
    fn an_impossible_number_is_passed_on_with_a_note() {
        let answer = KRule::Explicit(0.9).k_factor(1.0, 1.0, &copper());
        assert_eq!(answer.k, 0.9);
        assert!(answer.note.is_some());
        assert_eq!(
            KRule::Explicit(0.44).k_factor(1.0, 1.0, &copper()).note,
            None
        );
    }

    #[test]
    fn rules_are_written_by_their_names() {
        for rule in published_rules() {
            assert_eq!(serde_json::to_value(&rule).ok(), Some(rule.name().into()));
        }
        assert_eq!(
            serde_json::to_value(KRule::Simulated).ok(),
            Some("simulated".into())
        );
        let table = KRule::table(vec![(1.0, 0.3), (2.0, 0.4)]).ok();
        assert_eq!(
            serde_json::to_string(&table).unwrap_or_default(),
            r#"{"table":[[1.0,0.3],[2.0,0.4]]}"#
        );
    }

    proptest! {
        #[test]
        fn published_rules_keep_the_neutral_line_inside_the_sheet(
            radius_mm in 0.0..200.0_f64, thickness_mm in 0.05..10.0_f64,
        ) {
            for rule in published_rules() {
                for row in HandbookRow::ALL {
                    let k = rule.k_factor(radius_mm, thickness_mm, &metal(row)).k;
                    prop_assert!((0.0..=0.6).contains(&k), "{rule:?} {k}");
                }
            }
        }

        #[test]
        fn a_wider_bend_never_moves_the_neutral_line_inwards(
            ratio in 0.0..20.0_f64, more in 0.0..5.0_f64,
        ) {
            for rule in published_rules() {
                prop_assert!(k(&rule, ratio) <= k(&rule, ratio + more));
            }
        }

        #[test]
        fn only_the_ratio_counts(radius_mm in 0.1..20.0_f64, thickness_mm in 0.1..6.0_f64) {
            for rule in published_rules() {
                let one = rule.k_factor(radius_mm, thickness_mm, &metal(HandbookRow::Hard)).k;
                // A power of two changes no digit of the quotient.
                let other = rule.k_factor(radius_mm * 4.0, thickness_mm * 4.0, &metal(HandbookRow::Hard)).k;
                prop_assert_eq!(one, other);
            }
        }
    }
}
