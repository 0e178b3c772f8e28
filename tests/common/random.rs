//! Numbers that are random and the same on every machine.

/// Numbers from 0 to 1 (xorshift64).
pub struct Random(pub u64);

#[allow(dead_code, reason = "not every test program asks for all of it")]
impl Random {
    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a short list"
    )]
    pub fn pick<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        let place = (self.share() * all.len() as f64) as usize;
        &all[place.min(all.len() - 1)]
    }
}
