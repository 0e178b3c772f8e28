//! The words that a part file may write where only some are accepted.
//!
//! Messages list them as they stand here; that serde accepts the same is what the test asks.

use crate::stock::{HandbookRow, Material, Plastic, Temper};
use schemars::JsonSchema;
use serde::de::{IntoDeserializer, value::Error};
use serde::{Deserialize, Serialize};

/// An enum whose values a part file writes as words.
pub trait Words: Copy + PartialEq + for<'de> Deserialize<'de> {
    /// What it is, in plain words: "an edge".
    const MEANS: &'static str;
    /// The accepted words.
    const WORDS: &'static [&'static str];

    /// The value of a word, if it is one of them.
    fn of_word(word: &str) -> Option<Self> {
        let deserializer: serde::de::value::StrDeserializer<'_, Error> = word.into_deserializer();
        Self::deserialize(deserializer).ok()
    }

    /// As a part file writes it.
    fn word(self) -> &'static str {
        let written = Self::WORDS.iter();
        // A test asks for the word of every value.
        written
            .copied()
            .find(|word| Self::of_word(word) == Some(self))
            .unwrap_or_default()
    }
}

/// Implements [`Words`] for an enum.
macro_rules! words {
    ($type:ty, $means:literal, [$($word:literal),* $(,)?]) => {
        impl Words for $type {
            const MEANS: &'static str = $means;
            const WORDS: &'static [&'static str] = &[$($word),*];
        }
    };
}

/// How the K-factor is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum KRuleWord {
    /// DIN 6935.
    #[serde(rename = "din-6935")]
    Din6935,
    /// The handbook's three rows.
    Handbook,
    /// 0.33 below R = 2t, 0.50 from there.
    TwoValue,
    /// Pure bending calculated for the metal.
    Simulated,
}
words!(
    KRuleWord,
    "the name of a K-factor rule",
    ["din-6935", "handbook", "two-value", "simulated"]
);

/// What the sheet is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SheetMaterial {
    /// A material of the stock table.
    Stock(Material),
    /// The user's own, all its numbers in `[material]`.
    Own,
}

impl<'de> Deserialize<'de> for SheetMaterial {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let word = String::deserialize(deserializer)?;
        if word == "own" {
            return Ok(Self::Own);
        }
        Material::ALL
            .into_iter()
            .find(|material| material.name() == word)
            .map(Self::Stock)
            .ok_or_else(|| serde::de::Error::custom("unknown material"))
    }
}
words!(
    SheetMaterial,
    "the name of a sheet metal, or \"own\"",
    [
        "copper",
        "aluminium-1050",
        "aluminium-5052",
        "brass-cuzn30",
        "brass-cuzn37",
        "own",
    ]
);

/// An edge of the plate in plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Edge {
    /// y = 0.
    Front,
    /// y = width.
    Back,
    /// The end of the first flat.
    Left,
    /// The end of the last flat.
    Right,
}
words!(
    Edge,
    "the name of an edge",
    ["front", "back", "left", "right"]
);

/// What kind of board part it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Switching transistor or power stage.
    PowerStage,
    /// Choke.
    Inductor,
    /// Capacitor of any sort.
    Capacitor,
    /// Memory chip.
    Memory,
    /// Anything else.
    Other,
}
words!(
    Kind,
    "a kind of board part",
    ["power-stage", "inductor", "capacitor", "memory", "other"]
);

/// What lies between a heat pipe and the plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum JointKind {
    /// Soft solder.
    Solder,
    /// Thermal paste.
    Paste,
    /// Thermally conducting adhesive.
    Adhesive,
}
words!(
    JointKind,
    "what a joint is made of",
    ["solder", "paste", "adhesive"]
);

/// How the sheet's rolling direction lies to the strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Grain {
    /// Along the strip: bend lines cross it.
    Along,
    /// Across the strip: bend lines run with it.
    Across,
}
words!(
    Grain,
    "how the sheet's rolling direction lies to the strip",
    ["along", "across"]
);

/// Which sides of the lower die carry a cheek.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Cheeks {
    /// One, at the front edge: the blank stands on it.
    Front,
    /// One on each side.
    Both,
    /// None.
    None,
}
words!(Cheeks, "where the cheeks stand", ["front", "both", "none"]);

/// How the part lies in the die.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TiltWord {
    /// Level if the pair then opens, else centred.
    Auto,
    /// Flats square to the closing direction.
    Level,
    /// Steepest headings up and down made equal.
    Centred,
}
words!(
    TiltWord,
    "how the part lies in the die",
    ["auto", "level", "centred"]
);

words!(
    HandbookRow,
    "a row of the handbook",
    ["soft", "half-hard", "hard"]
);
words!(
    Temper,
    "a temper",
    ["soft", "quarter-hard", "half-hard", "hard"]
);
words!(Plastic, "a plastic", ["pla", "petg", "abs", "asa"]);

#[cfg(test)]
mod tests {
    use super::*;

    /// The words a message lists are exactly the words serde accepts, and each value is written as its word.
    fn words_are_true<T: Words + std::fmt::Debug>() {
        for word in T::WORDS {
            let value = T::of_word(word).unwrap();
            assert_eq!(value.word(), *word);
        }
        assert!(T::of_word("no such word").is_none());
    }

    #[test]
    fn listed_words_are_the_accepted_words() {
        words_are_true::<SheetMaterial>();
        words_are_true::<HandbookRow>();
        words_are_true::<Temper>();
        words_are_true::<Plastic>();
        words_are_true::<KRuleWord>();
        words_are_true::<Edge>();
        words_are_true::<Kind>();
        words_are_true::<Grain>();
        words_are_true::<Cheeks>();
        words_are_true::<JointKind>();
        words_are_true::<TiltWord>();
        let all = Material::ALL.map(|material| SheetMaterial::Stock(material).word());
        assert_eq!(all.len() + 1, SheetMaterial::WORDS.len());
        assert!(!all.contains(&""));
    }
}
