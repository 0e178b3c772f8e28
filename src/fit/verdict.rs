//! What a gap means for its component.

use schemars::JsonSchema;
use serde::Serialize;

/// What the nominal gap means for one component.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "GapVerdict")]
pub enum GapVerdict {
    /// The pad is compressed within its limits everywhere.
    PadFits,
    /// The pad does not touch, or is pressed less than it needs.
    PadTooThin,
    /// The pad is pressed more than it takes.
    PadTooThick,
    /// The gap varies by more than the pad gives.
    GapUneven,
    /// Bare, and metal keeps its distance.
    Clear,
    /// Bare, and metal comes closer than wanted.
    TooClose,
    /// Metal and component would touch.
    Touches,
    /// No metal faces the component.
    NotCovered,
}

impl GapVerdict {
    /// Whether the plate can be built with this.
    pub fn is_good(self) -> bool {
        matches!(self, Self::PadFits | Self::Clear)
    }
}
