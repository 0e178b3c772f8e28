//! temporary
use crate::{fit::Fit, output::Drawing, part::Part};
/// t
pub fn plate_over_parts(p: &Part, _f: &Fit) -> Drawing {
    let mut d = Drawing::new(&p.name, "");
    d.chain(super::Role::Metal, &p.profile.mid);
    d
}
