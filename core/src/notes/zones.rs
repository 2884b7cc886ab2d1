//! MPE zones: channels that are given to notes, not to instruments.

/// The zones that the stream has set up (MPE: registered parameter 6 on the first channel for
/// the lower zone, on the last for the upper one). Channels count from 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Zones {
    lower: u8,
    upper: u8,
}

/// The channels of a zone's members: the first, and how many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Members {
    pub(super) first: u8,
    pub(super) count: u8,
}

impl Members {
    pub(super) const fn has(self, channel: u8) -> bool {
        self.first <= channel && channel < self.first + self.count
    }
}

/// Channels that two zones have for their members together: sixteen less a manager each.
const SHARED: u8 = 14;

impl Zones {
    pub(super) const NONE: Self = Self { lower: 0, upper: 0 };

    /// A message sets up a zone of so many members, or takes it away (0). Gives its members;
    /// `None` on a channel that manages no zone. A zone takes what it needs from the other.
    pub(super) fn configure(&mut self, manager: u8, count: u8) -> Option<Members> {
        let count = count.min(15);
        match manager {
            0 => {
                self.lower = count;
                self.upper = self.upper.min(SHARED.saturating_sub(count));
            }
            15 => {
                self.upper = count;
                self.lower = self.lower.min(SHARED.saturating_sub(count));
            }
            _ => return None,
        }
        if manager == 0 { Some(self.lower_members()) } else { Some(self.upper_members()) }
    }

    /// The zone that a channel is a member of.
    pub(super) fn of(self, channel: u8) -> Option<Members> {
        [self.lower_members(), self.upper_members()].into_iter().find(|zone| zone.has(channel))
    }

    /// The zone that is set up, the lower one before the upper.
    pub(super) fn active(self) -> Option<Members> {
        [self.lower_members(), self.upper_members()].into_iter().find(|zone| zone.count > 0)
    }

    const fn lower_members(self) -> Members {
        Members { first: 1, count: self.lower }
    }

    const fn upper_members(self) -> Members {
        Members { first: 15 - self.upper, count: self.upper }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zone_takes_what_it_needs_from_the_other() {
        let mut zones = Zones::NONE;
        assert_eq!(zones.configure(0, 7), Some(Members { first: 1, count: 7 }));
        assert_eq!(zones.configure(15, 7), Some(Members { first: 8, count: 7 }));
        assert_eq!(zones.of(7), Some(Members { first: 1, count: 7 }));
        assert_eq!(zones.of(8), Some(Members { first: 8, count: 7 }));
        assert_eq!(zones.of(0), None, "a manager is no member");
        zones.configure(15, 10);
        assert_eq!(zones.of(4), Some(Members { first: 1, count: 4 }));
        assert_eq!(zones.of(5), Some(Members { first: 5, count: 10 }));
        zones.configure(0, 15);
        assert_eq!(zones.active(), Some(Members { first: 1, count: 15 }));
        zones.configure(0, 0);
        assert_eq!(zones.active(), None);
    }

    #[test]
    fn other_channels_manage_nothing() {
        let mut zones = Zones::NONE;
        assert_eq!(zones.configure(3, 5), None);
    }
}
