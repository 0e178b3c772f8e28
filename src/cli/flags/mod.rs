//! Flags that several verbs share.

pub mod output;
pub mod printing;
pub mod springback;
