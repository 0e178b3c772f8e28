//! What a run found, as one typed document, and the catalogue of the files that carry it.

pub mod catalogue;
