//! What a value of a part file may look like, whoever writes it: a file or a program.

use super::words::Words;
pub use crate::change::Value;
use crate::quantity::{Allowed, Toleranced};

/// What type of value stands under a key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A number.
    Number,
    /// A number that may carry a tolerance.
    Toleranced,
    /// A text.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// True or false.
    Switch,
    /// A list of so many numbers.
    Numbers(usize),
    /// A number, or a list of two.
    OneOrTwo,
    /// A list of pairs of numbers.
    Pairs,
    /// A table inside of the table.
    Table(&'static [Key]),
}

/// Which values of its type a key takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Takes {
    /// Every one: words, true and false, tables.
    Any,
    /// Short text on one line.
    Name,
    /// Text of up to [`LONGEST_NOTE`] characters.
    Note,
    /// Each number within a range.
    Within(Allowed),
    /// The number and its tolerance, each within its range.
    Measured(Allowed, Allowed),
    /// The number with all of its tolerance within the range; the tolerance in its own.
    Banded(Allowed, Allowed),
    /// The first and the second of each pair within its range.
    Pairs(Allowed, Allowed),
}

/// Most characters of a name: longer ones fit on no drawing.
pub const LONGEST_NAME: usize = 60;
/// Most characters of a note.
pub const LONGEST_NOTE: usize = 1000;

/// One key of the part file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// As it is written.
    pub name: &'static str,
    /// What it says, one sentence.
    pub about: &'static str,
    /// Type of its value.
    pub shape: Shape,
    /// Which values of this type.
    pub takes: Takes,
    /// A line that gives it, where it must be given.
    pub needed: Option<&'static str>,
}

impl Key {
    /// A line that gives it a usual number; none where it takes no number.
    pub fn sample(&self) -> Option<String> {
        let allowed = match self.takes {
            Takes::Within(allowed)
            | Takes::Measured(allowed, _)
            | Takes::Banded(allowed, _)
            | Takes::Pairs(allowed, _) => allowed,
            Takes::Any | Takes::Name | Takes::Note => return None,
        };
        match self.shape {
            Shape::Number | Shape::Toleranced | Shape::OneOrTwo => {
                Some(format!("{} = {:?}", self.name, allowed.sample))
            }
            _ => None,
        }
    }
}

/// One kind of table of the part file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table {
    /// Its name, `flat`.
    pub name: &'static str,
    /// What it says, one sentence.
    pub about: &'static str,
    /// Its keys, in the order in which they are written.
    pub keys: &'static [Key],
    /// How many there may be: `None` for one in single brackets.
    pub most: Option<usize>,
    /// Keys to begin with, in words, where a part file must have this table.
    pub needed: Option<&'static str>,
}

impl Table {
    /// As it stands in a file, `[[flat]]`.
    pub fn title(&self) -> String {
        match self.most {
            None => format!("[{}]", self.name),
            Some(_) => format!("[[{}]]", self.name),
        }
    }

    /// Paths of all keys: `from_mm`, and `step.wall_angle_deg` for one inside of another.
    pub fn paths(&self) -> impl Iterator<Item = String> {
        self.keys.iter().flat_map(|key| match key.shape {
            Shape::Table(inside) => inside
                .iter()
                .map(|inner| format!("{}.{}", key.name, inner.name))
                .collect(),
            _ => vec![key.name.to_owned()],
        })
    }

    /// The key of a path: `from_mm`, or `step.wall_angle_deg` for one inside of another.
    pub fn key(&self, path: &str) -> Option<&'static Key> {
        let (name, inside) = match path.split_once('.') {
            Some((name, inside)) => (name, Some(inside)),
            None => (path, None),
        };
        let key = self.keys.iter().find(|key| key.name == name)?;
        match (inside, key.shape) {
            (None, _) => Some(key),
            (Some(inside), Shape::Table(keys)) => keys.iter().find(|key| key.name == inside),
            (Some(_), _) => None,
        }
    }
}

/// What has keys.
pub trait Keyed {
    /// What it says, one sentence.
    const ABOUT: &'static str;
    /// Its keys, in the order in which they are written.
    const KEYS: &'static [Key];
    /// What is said under these keys, in their order.
    fn said(&self) -> Vec<(&'static Key, Said)>;
}

/// What is said under a key.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// A value.
    Value(Value),
    /// The keys of a table inside of the table.
    Table(Vec<(&'static Key, Said)>),
}

/// What can stand under a key: a value, or a table with keys of its own.
pub trait Shaped {
    /// Its type.
    const SHAPE: Shape;
    /// As a part file holds it.
    fn said(&self) -> Said;
}

impl<T: Leaf> Shaped for T {
    const SHAPE: Shape = T::SHAPE;

    fn said(&self) -> Said {
        Said::Value(self.value())
    }
}

/// A type that can stand under a key.
pub trait Leaf: Clone {
    /// What type of value.
    const SHAPE: Shape;
    /// In plain words, for "should be …".
    const SHOULD_BE: &'static str;
    /// As a part file holds it.
    fn value(&self) -> Value;
}

/// One radius for both bends of a step, or one for each: `1.0` or `[1.0, 1.5]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Radii(pub [f64; 2]);

impl Leaf for f64 {
    const SHAPE: Shape = Shape::Number;
    const SHOULD_BE: &'static str = "a number";
    fn value(&self) -> Value {
        Value::Number(*self)
    }
}

impl Leaf for Toleranced {
    const SHAPE: Shape = Shape::Toleranced;
    const SHOULD_BE: &'static str = "a number, or { value = 3.2, plus_minus = 0.05 }";
    fn value(&self) -> Value {
        Value::Toleranced(*self)
    }
}

impl Leaf for String {
    const SHAPE: Shape = Shape::Text;
    const SHOULD_BE: &'static str = "a text in quotes";
    fn value(&self) -> Value {
        Value::Text(self.clone())
    }
}

impl Leaf for bool {
    const SHAPE: Shape = Shape::Switch;
    const SHOULD_BE: &'static str = "true or false";
    fn value(&self) -> Value {
        Value::Switch(*self)
    }
}

impl Leaf for [f64; 2] {
    const SHAPE: Shape = Shape::Numbers(2);
    const SHOULD_BE: &'static str = "two numbers, as in [10.0, 6.0]";
    fn value(&self) -> Value {
        Value::Numbers(self.to_vec())
    }
}

impl Leaf for [f64; 3] {
    const SHAPE: Shape = Shape::Numbers(3);
    const SHOULD_BE: &'static str = "three numbers, as in [220.0, 220.0, 250.0]";
    fn value(&self) -> Value {
        Value::Numbers(self.to_vec())
    }
}

impl Leaf for Vec<[f64; 2]> {
    const SHAPE: Shape = Shape::Pairs;
    const SHOULD_BE: &'static str = "pairs of numbers, as in [[0.0, 0.0], [30.0, 0.0]]";
    fn value(&self) -> Value {
        Value::Pairs(self.clone())
    }
}

impl Leaf for Radii {
    const SHAPE: Shape = Shape::OneOrTwo;
    const SHOULD_BE: &'static str = "a number, or two numbers as in [1.0, 1.5]";
    fn value(&self) -> Value {
        match self.0 {
            [first, second] if first == second => Value::Number(first),
            both => Value::Numbers(both.to_vec()),
        }
    }
}

impl<T: Words> Leaf for T {
    const SHAPE: Shape = Shape::Word(T::WORDS);
    const SHOULD_BE: &'static str = T::MEANS;
    fn value(&self) -> Value {
        Value::Text(self.word().to_owned())
    }
}
