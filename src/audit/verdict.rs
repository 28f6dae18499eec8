//! What is said of a zone after the work, by the same question that `plan` asked before it.

use super::{Facts, Mean};
use crate::{
    plan::{
        Verdict,
        verdict::{Question, probability_below},
    },
    zones::ZoneMean,
};

/// What is said of a zone after the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Surely within the target.
    Reached,
    /// Surely still above the aim by more than the margin.
    GoBack,
    /// Surely below the low end: too much came off, or buds were lost before.
    OverThinned,
    /// Nothing was to come off, and surely little did.
    LeftAlone,
    /// Nothing was to come off, and surely more than the margin did.
    ThinnedUnasked,
    /// The recounts do not tell.
    Undecided,
}

impl Outcome {
    /// The word that files and reports use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Reached => "reached",
            Self::GoBack => "go-back",
            Self::OverThinned => "over-thinned",
            Self::LeftAlone => "left-alone",
            Self::ThinnedUnasked => "thinned-unasked",
            Self::Undecided => "undecided",
        }
    }
}

/// What is asked of a zone after the work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Asked {
    /// Where what stands lies.
    pub(super) question: Question,
    /// Shoots were to come off.
    pub(super) planned: bool,
    /// Fewer recounted places settle nothing.
    pub(super) fewest: usize,
}

/// The outcome of a zone.
pub(super) fn outcome(facts: &Facts, asked: &Asked) -> Outcome {
    let Asked { question, planned, fewest } = *asked;
    let after = facts.after.and_then(|mean| enough(mean, fewest));
    let change = facts.change.and_then(|change| change.zone_mean());
    let answer = after.map(|mean| question.answer(&mean));
    if answer == Some(Verdict::Overcrowded) {
        return Outcome::GoBack;
    }
    if planned {
        return match answer {
            Some(Verdict::OnTarget) => Outcome::Reached,
            Some(Verdict::UnderTarget) => Outcome::OverThinned,
            _ => Outcome::Undecided,
        };
    }
    let Some(change) = change.filter(|_| facts.pairs >= fewest) else {
        return Outcome::Undecided;
    };
    let fell = probability_below(&change, -question.margin_per_m);
    if fell >= question.sure && answer == Some(Verdict::UnderTarget) {
        Outcome::OverThinned
    } else if fell >= question.sure {
        Outcome::ThinnedUnasked
    } else if 1.0 - fell >= question.sure {
        Outcome::LeftAlone
    } else {
        Outcome::Undecided
    }
}

/// How many more places to recount until a planned zone is decided, if its mean stays what it is.
pub(super) fn recounts_to_settle(facts: &Facts, asked: &Asked, places: usize) -> Option<usize> {
    let found = facts.after.map_or(0, |mean| mean.places);
    let short = asked.fewest.min(places).saturating_sub(found);
    let mean = facts.after.and_then(|mean| mean.zone_mean());
    let by_spread = mean.and_then(|mean| asked.question.counts_to_settle(&mean, found, places));
    match by_spread {
        Some(more) => Some(more.max(short)),
        None => (short > 0).then_some(short),
    }
}

/// A mean that rests on enough places for a verdict.
fn enough(mean: Mean, fewest: usize) -> Option<ZoneMean> {
    (mean.places >= fewest).then(|| mean.zone_mean()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{plan::VineTarget, settings::Settings};

    /// 10 to 16 a metre, aim 13, margin 0.5 a foot = 1.64 a metre.
    fn asked(planned: bool) -> Asked {
        let target = VineTarget { low_per_m: 10.0, high_per_m: 16.0, aim_per_m: 13.0 };
        let settings = Settings::default().plan();
        let question = Question::new(target, &settings);
        Asked { question, planned, fewest: settings.fewest_recounted }
    }

    fn mean(per_m: f64, se: f64, places: usize) -> Mean {
        Mean { per_m, se: Some(se), degrees: 8.0, places, by_zone: false }
    }

    #[track_caller]
    fn check(after: Mean, change: Option<Mean>, planned: bool, expected: Outcome) {
        let pairs = change.map_or(0, |change| change.places);
        let facts = Facts { after: Some(after), change, pairs, ..Facts::default() };
        assert_eq!(outcome(&facts, &asked(planned)), expected, "{facts:?}");
    }

    #[test]
    fn a_zone_that_was_to_be_thinned_is_reached_left_over_or_overdone() {
        check(mean(13.0, 0.4, 9), None, true, Outcome::Reached);
        check(mean(17.0, 0.6, 9), None, true, Outcome::GoBack);
        check(mean(8.5, 0.4, 9), None, true, Outcome::OverThinned);
        check(mean(14.5, 0.9, 9), None, true, Outcome::Undecided);
        check(mean(13.0, 0.1, 4), None, true, Outcome::Undecided);
    }

    #[test]
    fn a_zone_without_work_is_left_alone_or_not() {
        check(mean(14.0, 0.8, 9), Some(mean(-0.2, 0.4, 6)), false, Outcome::LeftAlone);
        check(mean(13.0, 0.4, 9), Some(mean(-4.0, 0.6, 6)), false, Outcome::ThinnedUnasked);
        check(mean(8.0, 0.4, 9), Some(mean(-4.0, 0.6, 6)), false, Outcome::OverThinned);
        check(mean(8.0, 0.4, 9), Some(mean(0.0, 0.3, 6)), false, Outcome::LeftAlone);
        check(mean(18.0, 0.4, 9), Some(mean(0.0, 0.3, 6)), false, Outcome::GoBack);
        check(mean(14.0, 0.8, 9), Some(mean(-0.2, 0.1, 3)), false, Outcome::Undecided);
        check(mean(14.0, 0.8, 9), None, false, Outcome::Undecided);
    }

    #[test]
    fn an_undecided_zone_says_how_many_more() {
        let facts = |mean| Facts { after: Some(mean), ..Facts::default() };
        assert_eq!(recounts_to_settle(&facts(mean(17.0, 0.6, 9)), &asked(true), 80), None);
        assert_eq!(recounts_to_settle(&Facts::default(), &asked(true), 80), Some(5));
        let more = recounts_to_settle(&facts(mean(15.5, 1.2, 6)), &asked(true), 80).unwrap();
        assert!(more > 3, "{more}");
    }
}
