//! temporary
use crate::{dies::Tooling, output::Drawing, part::Part};
/// t
pub fn closed_pair(p: &Part, _f: &Tooling) -> Drawing {
    let mut d = Drawing::new(&p.name, "");
    d.chain(super::Role::Metal, &p.profile.mid);
    d
}
/// t
pub fn four_states(p: &Part, _f: &Tooling) -> Drawing {
    let mut d = Drawing::new(&p.name, "");
    d.chain(super::Role::Metal, &p.profile.mid);
    d
}
