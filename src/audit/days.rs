//! Whether the day of a recount can be the day of a recount.

use jiff::civil::Date;

use crate::finding::{Finding, Place};

/// A recount more days after the counts tells of a summer, not of the work. Our judgement.
const MOST_DAYS_AFTER: i32 = 60;

/// What is doubtful of the days of the counts before the work and of the recount.
pub(super) fn doubt((before, after): (Date, Date), place: Place) -> Option<Finding> {
    let days = (after - before).get_days();
    let used = "it is used as what was left, and the others as what stood before the work";
    if days < 0 {
        let what = format!("the recount of {after} is older than the counts of {before}");
        return Some(Finding::warning(place, what).because(used).mend(
            "correct the dates, or pass the counts from before the work with --counts and those \
             after it with --recount",
        ));
    }
    (days > MOST_DAYS_AFTER).then(|| {
        let what = format!("the recount of {after} is {days} days after the counts of {before}");
        let why =
            format!("in over {MOST_DAYS_AFTER} days shoots come and go without the work; {used}");
        Finding::warning(place, what)
            .because(why)
            .mend("correct the dates, or count again nearer to the work")
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn said(before: Date, after: Date) -> String {
        doubt((before, after), Place::default()).map_or_else(String::new, |it| it.to_string())
    }

    #[test]
    fn a_recount_before_the_counts_or_a_summer_after_them_is_doubted_with_both_days() {
        let [may, june, august] = [date(2026, 5, 25), date(2026, 6, 10), date(2026, 8, 20)];
        assert_eq!(said(may, june), "");
        assert_eq!(said(may, may), "");
        assert_eq!(said(may, date(2026, 7, 24)), "", "60 days");
        let older = said(june, may);
        let far = said(may, august);
        for words in ["recount of 2026-05-25 is older", "2026-06-10", "what was left", "--recount"]
        {
            assert!(older.contains(words), "{older}");
        }
        for words in ["recount of 2026-08-20 is 87 days after", "2026-05-25", "over 60 days"] {
            assert!(far.contains(words), "{far}");
        }
    }
}
