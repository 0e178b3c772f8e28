//! Shares of one piece of work, side by side where the build has threads.
//!
//! With the feature `threads` they run on the machine's cores, without it one after the other. Answers do not depend on
//! that: whoever shares work out takes every sum in one order.

/// How many shares can run side by side: the machine's cores, or 1 without the feature `threads`.
#[cfg(feature = "threads")]
pub fn cores() -> usize {
    static CORES: std::sync::OnceLock<usize> = std::sync::OnceLock::new();
    *CORES.get_or_init(|| std::thread::available_parallelism().map_or(1, std::num::NonZero::get))
}

/// How many shares can run side by side: the machine's cores, or 1 without the feature `threads`.
#[cfg(not(feature = "threads"))]
pub const fn cores() -> usize {
    1
}

/// Runs every share and gives their answers in order; the last one runs where this is called.
#[cfg(feature = "threads")]
pub fn run_all<T: Send>(shares: Vec<impl FnOnce() -> T + Send>) -> Vec<T> {
    std::thread::scope(|scope| {
        let mut shares = shares;
        let last = shares.pop();
        let others: Vec<_> = shares.into_iter().map(|share| scope.spawn(share)).collect();
        let mine = last.map(|share| share());
        let mut answers: Vec<T> = others
            .into_iter()
            .map(|other| match other.join() {
                Ok(answer) => answer,
                // A fault of the share is one of the whole.
                Err(fault) => std::panic::resume_unwind(fault),
            })
            .collect();
        answers.extend(mine);
        answers
    })
}

/// Runs every share and gives their answers in order.
#[cfg(not(feature = "threads"))]
pub fn run_all<T>(shares: Vec<impl FnOnce() -> T>) -> Vec<T> {
    shares.into_iter().map(|share| share()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_come_in_the_order_of_the_shares() {
        assert!(cores() >= 1);
        let shares: Vec<_> = (0..20).map(|number| move || number * number).collect();
        assert_eq!(
            run_all(shares),
            (0..20).map(|number| number * number).collect::<Vec<i32>>()
        );
        let none: Vec<fn() -> i32> = Vec::new();
        assert_eq!(run_all(none), Vec::<i32>::new());
    }

    #[test]
    fn shares_may_write_into_rooms_of_their_own() {
        let mut room = [0; 7];
        let shares: Vec<_> = room
            .chunks_mut(2)
            .map(|part| move || part.fill(1))
            .collect();
        run_all(shares);
        assert_eq!(room, [1; 7]);
    }
}
