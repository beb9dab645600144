//! What is certain has no error.

use super::{TRAYS, asked, day, question};

/// The trays of the pencil are done on the 11th: a share of one batch that stands for all is all or none, and so are its ends.
#[test]
fn certain_dates_have_shares_without_an_error() {
    for (due, share) in [(day(12, 11), 1.0), (day(12, 10), 0.0)] {
        let found = asked(TRAYS, 2_000, &question(day(12, 1), Some(due), &[6])).unwrap();
        let at = found.sizes[0].due.unwrap();
        let mut shares = vec![(at.kept, share)];
        shares.extend(at.kept_then.map(|kept| (kept, 1.0)));
        shares.extend(at.kept_next.map(|kept| (kept, 0.0)));
        shares.extend(found.by_date.iter().map(|by| (by.done, 1.0)));
        assert!(found.certain && shares.len() > 1);
        for (kept, share) in shares {
            assert_eq!((kept.low, kept.share, kept.high), (share, share, share));
        }
    }
}
