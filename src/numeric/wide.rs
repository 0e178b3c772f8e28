//! The same formulas in wider registers, where the machine has them.

/// Does work compiled a second time for the x86-64-v3 instructions, where the processor has these; else as it is.
///
/// The bits are the same: numbers are added and multiplied as written, each rounded by itself, two or four at a time. What
/// is to gain from it must be inlined into `work`, which itself must be `#[inline(always)]`.
#[inline(always)]
pub fn widely<R>(work: impl FnOnce() -> R) -> R {
    #[cfg(any(target_arch = "x86", target_arch = "x86_64"))]
    if let Some(wide) = fearless_simd::Level::new().as_avx2() {
        return fearless_simd::Simd::vectorize(wide, work);
    }
    work()
}
