//! The music that is practised here: a crossing by ship, in first position.

use evenhand::study::Prepared;
use evenhand_tests::passage;

/// One chunk of four bars.
pub(crate) const CROSSING: &str = "evenhand study 1
title   The crossing
metre   4/4
tempo   92

chunk \"Crossing\" at bar 1
  melody: 1/8 5:0 5:3 4:2 3:0 4:0 3:2 2:1 2:0 | 3:0 2:3 1:1 2:0 1:3 1:0 2:0 3:2 |
  melody: 4:3 3:0 2:1 1:1 1:5 1:3 2:3 1:0 | 2:1 3:2 4:2 4:3 3:0 2:0 4:0 5:2 |
";

/// Four chunks of a bar that follow each other.
pub(crate) const DECKS: &str = "evenhand study 1
title   Four decks
metre   4/4
tempo   92

chunk \"Gangway\" at bar 1
  melody: 1/8 3:0 2:0 2:1 1:0 2:3 2:1 3:2 2:0 |

chunk \"Deck\" at bar 2
  melody: 1/8 4:0 3:2 2:3 1:1 1:0 2:1 3:0 4:2 |

chunk \"Cabin\" at bar 3
  melody: 1/8 4:3 3:2 1:0 2:1 2:3 3:0 2:0 4:0 |

chunk \"Stern\" at bar 4
  melody: 1/8 5:3 4:2 3:0 1:3 1:1 2:3 2:0 3:2 |
";

/// A B A' C: the verse comes again, but for its last note.
pub(crate) const VERSES: &str = "evenhand study 1
title   Lamplighter
metre   4/4
tempo   92

chunk \"Verse\" at bar 1
  melody: 1/8 5:0 4:2 3:2 2:1 1:0 2:1 3:2 4:2 |

chunk \"Bridge\" at bar 2
  melody: 1/8 6:1 4:3 3:2 2:1 1:1 2:1 3:2 4:3 |

chunk \"Verse again\" at bar 3
  melody: 1/8 5:0 4:2 3:2 2:1 1:0 2:1 3:2 4:0 |

chunk \"Close\" at bar 4
  melody: 1/8 6:0 4:2 3:1 2:0 1:0 2:0 3:1 4:0 |
";

/// Two voices, the lower one in quarters.
pub(crate) const ROWING: &str = "evenhand study 1
title   Rowing home
metre   4/4
tempo   92

chunk \"Rowing\" at bar 1
  melody: 1/8 1:0 1:3 1:1 2:3 1:0 2:1 2:3 2:0 | 2:1 1:0 2:3 1:1 1:0 1:3 1:1 2:3 |
  bass:   1/4 5:3 4:2 5:0 4:3 | 5:2 4:0 6:3 5:2 |
";

/// So many chunks of a bar, all the same or each another.
pub(crate) fn waves(count: usize, equal: bool) -> String {
    let mut text = "evenhand study 1\ntitle Waves\nmetre 4/4\ntempo 92\n".to_owned();
    let basses = ["5:0", "6:1", "6:3", "5:3", "5:2", "6:0", "4:0", "5:1"];
    for wave in 0..count {
        let bass = basses[if equal { 0 } else { wave % basses.len() }];
        let top = if equal || wave % 2 == 0 { "1:0" } else { "1:3" };
        text += &format!(
            "chunk \"Wave {}\" at bar {}\n  melody: 1/8 {bass} 4:2 3:2 2:1 {top} 2:3 3:0 4:3 |\n",
            wave + 1,
            wave + 1
        );
    }
    text
}

/// The chunks of a study.
pub(crate) fn chunks(text: &str) -> Vec<Prepared> {
    passage::study(text)
}
