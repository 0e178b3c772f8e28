//! stub
use crate::heat::Heat;
pub const CAUTIONS: [&str; 1] = ["stub"];
pub fn verdict(_: &Heat) -> String {
    String::new()
}
pub fn dominates(_: &Heat) -> String {
    String::new()
}
pub fn pad_advice(_: &Heat) -> String {
    String::new()
}
pub fn tell_apart(_: &Heat) -> Vec<String> {
    Vec::new()
}
