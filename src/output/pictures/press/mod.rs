//! A calculated pressing: the pressed plate, the force, the closing.

pub mod closing;
pub mod force;
pub mod pressed;
