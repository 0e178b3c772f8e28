//! Tests of what is read and checked, by topic.

mod heat;
