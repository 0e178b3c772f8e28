use crate::heat::Heat;
use crate::output::Drawing;
use crate::part::Part;
pub fn heat_ladder(_: &Part, _: &Heat, _: usize) -> Option<Drawing> {
    None
}
