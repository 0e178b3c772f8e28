//! temporary
use crate::{
    blank::Blank,
    output::{Drawing, FlatDrawing},
    part::Part,
};
/// t
pub fn blank_sheet(p: &Part, _f: &Blank) -> Drawing {
    let mut d = Drawing::new(&p.name, "");
    d.chain(super::Role::Metal, &p.profile.mid);
    d
}
/// t
pub fn flat_drawing(b: &Blank) -> FlatDrawing {
    FlatDrawing {
        outline: vec![b.outline.clone()],
        holes: vec![],
        bends: vec![],
        tangents: vec![],
    }
}
