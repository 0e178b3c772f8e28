//! Flags that several verbs share.

pub mod color;
pub mod ending;
pub mod output;
pub mod printing;
pub mod springback;
