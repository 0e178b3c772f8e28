//! A drawing whose items move, as SVG that plays by itself in a browser.
//!
//! SMIL elements inside the items: no script, no style sheet. Viewers that do not play them show the drawing as it is.

use crate::draw::drawing::{Drawing, Item, Shape, Text};
use crate::draw::svg::{SvgOptions, closed_path, shape, written};
use crate::draw::xml::Element;
use crate::geometry::Loop;
use crate::numbers::four_decimals as number;

/// How one item changes from state to state; one entry for each state of the film.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// An area of one loop takes other shapes; all have the same number of straight edges.
    Shapes(Vec<Loop>),
    /// The item is moved upwards by so much, mm of the drawing.
    Lifts(Vec<f64>),
    /// A text says other words, without anything between.
    Words(Vec<String>),
}

/// One item that moves.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// Its number in the drawing.
    pub item: usize,
    /// What it does.
    pub change: Change,
}

/// Motions that play together, again and again.
#[derive(Debug, Clone, PartialEq)]
pub struct Film {
    /// Length of one round.
    pub seconds: f64,
    /// When each state is reached, as a share of the round, rising; before the first and after the last it rests.
    pub times: Vec<f64>,
    /// What moves.
    pub motions: Vec<Motion>,
}

/// Writes a drawing with moving items.
pub fn animated_svg(drawing: &Drawing, options: &SvgOptions, film: &Film) -> Vec<u8> {
    written(drawing, options, |place, item| {
        match film.motions.iter().find(|motion| motion.item == place) {
            Some(motion) => film.moving(item, &motion.change),
            None => vec![drawn(item)],
        }
    })
}

impl Film {
    fn moving(&self, item: &Item, change: &Change) -> Vec<Element> {
        match (change, &item.shape) {
            (Change::Words(words), Shape::Text(text)) => self.words(item, text, words),
            (Change::Shapes(shapes), Shape::Area { .. }) => {
                let data = shapes.iter().map(closed_path);
                let motion = Element::new("animate").with("attributeName", "d");
                vec![with_motion(item, self.between(motion, data.collect()))]
            }
            (Change::Lifts(lifts), _) => {
                let moves = lifts.iter().map(|lift| format!("0 {}", number(-lift)));
                let motion = Element::new("animateTransform")
                    .with("attributeName", "transform")
                    .with("type", "translate");
                vec![with_motion(item, self.between(motion, moves.collect()))]
            }
            // Words of a shape and shapes of a text are nothing to play.
            _ => vec![drawn(item)],
        }
    }

    /// A motion through values, resting on the first and on the last.
    fn between(&self, motion: Element, mut values: Vec<String>) -> Element {
        let mut times: Vec<f64> = self.times.iter().copied().take(values.len()).collect();
        if times.first().is_some_and(|time| *time > 0.0) {
            times.insert(0, 0.0);
            values.insert(0, values.first().cloned().unwrap_or_default());
        }
        if times.last().is_some_and(|time| *time < 1.0) {
            times.push(1.0);
            values.push(values.last().cloned().unwrap_or_default());
        }
        motion.with_all([
            ("dur", self.length()),
            ("repeatCount", "indefinite".to_owned()),
            ("keyTimes", joined(times)),
            ("values", values.join(";")),
        ])
    }

    /// One text for each state, of which one is seen at a time; without playing, the one of the drawing.
    fn words(&self, item: &Item, text: &Text, words: &[String]) -> Vec<Element> {
        let last = words.len().saturating_sub(1);
        let states = words.iter().enumerate();
        states
            .map(|(state, words)| {
                let said = Item {
                    role: item.role,
                    shape: Shape::Text(Text {
                        content: words.clone(),
                        ..text.clone()
                    }),
                };
                let seen = if state == last { "visible" } else { "hidden" };
                Element::new("g")
                    .with("visibility", seen)
                    .holding(drawn(&said))
                    .holding(self.turn_of(state))
            })
            .collect()
    }

    /// The motion that shows a state in its turn and hides it before and after.
    fn turn_of(&self, state: usize) -> Element {
        let from = self.times.get(state).copied().filter(|_| state > 0);
        let to = self.times.get(state + 1).copied();
        let (mut values, mut times) = (Vec::new(), Vec::new());
        if let Some(from) = from {
            values.extend(["hidden", "visible"]);
            times.extend([0.0, from]);
        } else {
            values.push("visible");
            times.push(0.0);
        }
        if let Some(to) = to {
            values.push("hidden");
            times.push(to);
        }
        Element::new("animate").with_all([
            ("attributeName", "visibility".to_owned()),
            ("dur", self.length()),
            ("repeatCount", "indefinite".to_owned()),
            ("calcMode", "discrete".to_owned()),
            ("keyTimes", joined(times)),
            ("values", values.join(";")),
        ])
    }

    fn length(&self) -> String {
        format!("{}s", number(self.seconds))
    }
}

fn joined(times: Vec<f64>) -> String {
    let times: Vec<String> = times.into_iter().map(number).collect();
    times.join(";")
}

fn drawn(item: &Item) -> Element {
    shape(&item.shape, item.role)
}

/// An item's element with a motion inside; words take theirs in a group of both.
fn with_motion(item: &Item, motion: Element) -> Element {
    let element = drawn(item);
    if element.has_words() {
        Element::new("g").holding(element).holding(motion)
    } else {
        element.holding(motion)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::style::Role;
    use nalgebra::Point2;
    use roxmltree::Document;

    fn film() -> (Drawing, Film) {
        let mut drawing = Drawing::new("t", "d");
        let square = |side: f64| Loop::rectangle(Point2::origin(), Point2::new(side, side));
        drawing
            .area(Role::Metal, vec![square(2.0)])
            .area(Role::UpperDie, vec![square(3.0)])
            .text(Role::Label, Text::new(Point2::origin(), 3.0, "two & more"))
            .text(Role::Label, Text::new(Point2::new(0.0, 9.0), 3.0, "still"));
        let film = Film {
            seconds: 6.0,
            times: vec![0.1, 0.5, 0.8],
            motions: vec![
                Motion {
                    item: 0,
                    change: Change::Shapes([1.0, 1.5, 2.0].map(square).to_vec()),
                },
                Motion {
                    item: 1,
                    change: Change::Lifts(vec![4.0, 1.0, 0.0]),
                },
                Motion {
                    item: 2,
                    change: Change::Words(["<0>", "one", "two & more"].map(String::from).to_vec()),
                },
            ],
        };
        (drawing, film)
    }

    #[test]
    fn every_motion_has_as_many_values_as_times_and_rests_at_both_ends() {
        let (drawing, film) = film();
        let bytes = animated_svg(&drawing, &SvgOptions::default(), &film);
        let text = String::from_utf8(bytes).unwrap();
        let document = Document::parse(&text).unwrap();
        let moving: Vec<_> = document
            .descendants()
            .filter(|node| node.has_attribute("keyTimes"))
            .collect();
        assert_eq!(moving.len(), 5);
        for node in moving {
            let list = |name: &str| node.attribute(name).unwrap().split(';').count();
            assert_eq!(list("keyTimes"), list("values"));
            let times: Vec<f64> = node
                .attribute("keyTimes")
                .unwrap()
                .split(';')
                .map(|time| time.parse().unwrap())
                .collect();
            assert_eq!(times[0], 0.0);
            assert!(times.is_sorted());
            if node.attribute("calcMode").is_none() {
                assert_eq!(times.last(), Some(&1.0));
            }
        }
        let lifts = document
            .descendants()
            .find(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "animateTransform")));
        assert_eq!(
            lifts.unwrap().attribute("values"),
            Some("0 -4;0 -4;0 -1;0 0;0 0")
        );
    }

    #[test]
    fn without_playing_the_last_words_are_seen() {
        let (drawing, film) = film();
        let text =
            String::from_utf8(animated_svg(&drawing, &SvgOptions::default(), &film)).unwrap();
        let document = Document::parse(&text).unwrap();
        let seen: Vec<&str> = document
            .descendants()
            .filter(|node| node.attribute("visibility") == Some("visible"))
            .filter_map(|node| node.descendants().find(roxmltree::Node::is_text)?.text())
            .collect();
        assert_eq!(seen, ["two & more"]);
    }
}
