//! The share of clean attempts among the last few.

use super::rules::{SHARE_CLEAN, SHARE_OF};

/// The last settled attempts, up to [`SHARE_OF`].
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Share {
    /// The last attempt is bit 0; clean is 1.
    clean: u8,
    count: u8,
}

const _: () = assert!(SHARE_OF <= 8);

impl Share {
    /// Nothing yet.
    pub(super) const NONE: Self = Self { clean: 0, count: 0 };

    /// Takes an attempt. Gives the number of clean ones if this was none and they are too few; it
    /// then begins to count anew, so that what was changed is given time to work.
    pub(super) fn take(&mut self, clean: bool) -> Option<u8> {
        let kept = u8::MAX >> (8 - SHARE_OF);
        self.clean = (self.clean << 1 | u8::from(clean)) & kept;
        self.count = (self.count + 1).min(SHARE_OF);
        let among = self.clean.count_ones() as u8;
        if clean || self.count < SHARE_OF || among >= SHARE_CLEAN {
            return None;
        }
        *self = Self::NONE;
        Some(among)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn last(attempts: &str) -> Option<u8> {
        let mut share = Share::NONE;
        attempts.chars().map(|c| share.take(c == 'c')).last().unwrap()
    }

    #[test]
    fn under_sixty_per_cent_of_five_is_too_few() {
        assert_eq!(last("c--c"), None, "four are not five");
        assert_eq!(last("c--c-"), Some(2));
        assert_eq!(last("c-cc-"), None, "60 % is enough");
        assert_eq!(last("---cc"), None, "it is getting better");
        assert_eq!(last("---cc-"), Some(2));
        assert_eq!(last("cccc--"), None);
        assert_eq!(last("cccc---"), Some(2), "only the last five count");
    }

    #[test]
    fn after_it_was_told_it_counts_anew() {
        assert_eq!(last("------"), None);
        assert_eq!(last("----------"), Some(0));
    }
}
