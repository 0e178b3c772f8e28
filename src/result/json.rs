//! A result as JSON text: the same bytes wherever it is written, every number rounded by one rule.

use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter, Serializer};
use std::io::{Result, Write};

/// Decimals kept; a millionth of a millimetre is beyond any measuring.
const DECIMALS: f64 = 1e6;
/// Larger numbers have no six decimals to round to.
const LARGEST_ROUNDED: f64 = 1e9;

/// One JSON text, indented, fields in the order of their types, with a line end.
///
/// Numbers with decimals are rounded to six of them, -0 is 0, and what is not finite is null.
pub fn to_json<T: Serialize>(result: &T) -> String {
    let mut bytes = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut bytes, Rounding::default());
    // Results in memory can always be written; an empty document would say that this is not so.
    if result.serialize(&mut serializer).is_err() {
        bytes.clear();
    }
    bytes.push(b'\n');
    String::from_utf8(bytes).unwrap_or_default()
}

/// To six decimals, and without the sign of -0.
fn rounded(number: f64) -> f64 {
    let number = if number.abs() < LARGEST_ROUNDED {
        (number * DECIMALS).round() / DECIMALS
    } else {
        number
    };
    // Adding zero takes the sign from -0.
    number + 0.0
}

/// Indents, and rounds every number; numbers that are not finite never come here: they are written as null.
#[derive(Default)]
struct Rounding(PrettyFormatter<'static>);

impl Formatter for Rounding {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> Result<()> {
        self.0.write_f64(writer, rounded(value))
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> Result<()> {
        self.0.begin_array_value(writer, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_array_value(writer)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> Result<()> {
        self.0.begin_object_key(writer, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.begin_object_value(writer)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> Result<()> {
        self.0.end_object_value(writer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    /// The text read back and written on one line.
    fn written<T: Serialize>(result: &T) -> String {
        let text = to_json(result);
        assert!(text.ends_with('\n') && !text.ends_with("\n\n"));
        let value: Value = serde_json::from_str(&text).unwrap();
        value.to_string()
    }

    #[test]
    fn numbers_are_rounded_wherever_they_stand() {
        assert_eq!(
            written(&json!({
                "a": [0.1 + 0.2, { "b": -1e-9 }],
                "c": 7,
                "d": 1e300,
                "e": "0.30000000000000004",
            })),
            r#"{"a":[0.3,{"b":0.0}],"c":7,"d":1e+300,"e":"0.30000000000000004"}"#
        );
    }

    #[test]
    fn what_is_not_finite_is_null() {
        assert_eq!(
            written(&[f64::NAN, f64::INFINITY, 1.0, -0.0]),
            "[null,null,1.0,0.0]"
        );
    }

    #[test]
    fn fields_keep_the_order_of_their_type() {
        #[derive(Serialize)]
        struct Zoo {
            zebra: f64,
            ant: Vec<u8>,
        }
        let zoo = Zoo {
            zebra: 1.0,
            ant: vec![2],
        };
        assert_eq!(
            to_json(&zoo),
            "{\n  \"zebra\": 1.0,\n  \"ant\": [\n    2\n  ]\n}\n"
        );
    }
}
