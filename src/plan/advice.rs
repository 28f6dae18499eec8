//! What is said of a zone in plain words: what to leave, what to check, what to count.

use jiff::civil::Date;

use super::{TakeOff, Verdict, VigorClass, VineTarget, ZonePlan};
use crate::{names::number_of, units::PerMetre};

/// What advice rests on besides the plan of a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Circumstances {
    /// The zone's class of vigor.
    pub(super) vigor: Option<VigorClass>,
    /// Dead dormant buds and buds looked at in the block.
    pub(super) buds: Option<(u32, u32)>,
    /// The day of the plan.
    pub(super) today: Option<Date>,
    /// Shoots are past the length at which the window closes.
    pub(super) too_long: bool,
    /// Something was believed about the zone's density.
    pub(super) estimated: bool,
    /// The counts were too few for a map: the zone has a mean, its vines have nothing of their own.
    pub(super) no_map: bool,
    /// Which shoots go.
    pub(super) take_off: TakeOff,
    /// Shoots left on a vine beside the aim, to renew it.
    pub(super) renewal_shoots: f64,
}

/// Advice on a zone, most important first.
pub(super) fn advice(zone: &ZonePlan, around: &Circumstances) -> Vec<String> {
    let mut advice = Vec::new();
    match (zone.verdict, &zone.target_per_m) {
        (_, None) => advice.push(
            "no thinning target here (young vines, or none given): take nothing off but suckers"
                .to_owned(),
        ),
        (_, Some(_)) if !around.estimated => advice.push(format!(
            "too few counts to say anything here: count some vines; until then {}",
            around.take_off.lightly()
        )),
        (Verdict::Overcrowded, Some(target)) => {
            advice.push(leave(target, around));
            advice.extend(lateness(zone, around));
        }
        (Verdict::OnTarget, Some(_)) => advice.push(around.take_off.lightly().to_owned()),
        (Verdict::UnderTarget, Some(_)) => advice.push(bud_loss(around.buds)),
        (Verdict::Undecided, Some(_)) => advice.push(count_more(zone.counts_to_settle, around)),
    }
    if around.estimated && around.no_map {
        advice.push("very few counts: this is their mean and holds for no single vine".to_owned());
    }
    if around.vigor == Some(VigorClass::Excess) {
        advice.push(
            "vigor is in excess: more canopy length is the answer (a divided canopy, or every other \
             vine taken out), not more shoots a foot"
                .to_owned(),
        );
    }
    advice
}

/// What stays comes first: how many shoots, the spacing that means, and which.
fn leave(target: &VineTarget, around: &Circumstances) -> String {
    let aim = PerMetre::new(target.aim_per_m);
    let renewal = match around.renewal_shoots {
        none if none <= 0.0 => String::new(),
        shoots => format!(", and {} near the head", number_of(shoots, "renewal shoot")),
    };
    format!(
        "leave {:.1} shoots a foot ({:.0} a metre) of curtain, one every {:.1} in ({:.0} cm){renewal}; \
         take off {}",
        aim.per_foot(),
        aim.per_metre(),
        12.0 / aim.per_foot(),
        100.0 / aim.per_metre(),
        around.take_off.in_order()
    )
}

fn bud_loss(buds: Option<(u32, u32)>) -> String {
    let checked = match buds {
        Some((dead, all)) if all > 0 => format!(" ({dead} of {all} dormant buds were dead)"),
        _ => String::new(),
    };
    format!(
        "fewer shoots than the low end of the target: look for bud loss by winter cold or frost{checked} \
         before anything comes off; doubles may be crop to keep"
    )
}

fn count_more(counts: Option<usize>, around: &Circumstances) -> String {
    let more = match counts {
        Some(1) => "1 more counted vine here should settle it".to_owned(),
        Some(more) => format!("about {more} more counted vines here should settle it"),
        None => "it lies so near a limit that more counts would hardly settle it; judge by eye"
            .to_owned(),
    };
    format!(
        "the counts do not tell whether this zone is crowded: {more}; until then {}",
        around.take_off.lightly()
    )
}

fn lateness(zone: &ZonePlan, around: &Circumstances) -> Option<String> {
    let past = |date: Option<Date>| matches!((around.today, date), (Some(t), Some(d)) if t > d);
    if around.too_long || past(zone.thin_by_latest) {
        return Some(
            "already past the window: shoot bases are hard by now, shears are needed and work is \
             slower"
                .to_owned(),
        );
    }
    if past(zone.thin_by) {
        return Some("the window may have closed already: measure some shoots first".to_owned());
    }
    let late = matches!((zone.thin_from, zone.thin_by), (Some(from), Some(by)) if from > by);
    late.then(|| {
        "the last frost may come after shoots have grown too long: begin as soon as frost is past"
            .to_owned()
    })
}

/// What is said while a frost forbids any plan.
pub(super) fn after_frost(frost: Date) -> String {
    format!(
        "frost on {frost}: nothing is planned until a recount that tells primary from secondary \
         shoots; secondary shoots are then crop to keep"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Interval;

    fn said(verdict: Verdict, around: Circumstances) -> Vec<String> {
        let per_foot = |shoots: f64| PerMetre::from_per_foot(shoots).per_metre();
        let target = VineTarget {
            low_per_m: per_foot(3.0),
            high_per_m: per_foot(5.0),
            aim_per_m: per_foot(4.0),
        };
        let zone = ZonePlan {
            verdict,
            target_per_m: Some(target),
            excess: None,
            remove: Interval::default(),
            hours: Interval::default(),
            hours_if_worked: None,
            order: None,
            thin_from: None,
            thin_by: None,
            thin_by_latest: None,
            counts_to_settle: Some(12),
            advice: Vec::new(),
        };
        advice(&zone, &around)
    }

    fn plain() -> Circumstances {
        Circumstances {
            vigor: None,
            buds: None,
            today: None,
            too_long: false,
            estimated: true,
            no_map: false,
            take_off: TakeOff::DoublesFirst,
            renewal_shoots: 1.0,
        }
    }

    #[test]
    fn a_crew_reads_first_what_to_leave() {
        let said = said(Verdict::Overcrowded, plain());
        assert!(said[0].starts_with("leave 4.0 shoots a foot (13 a metre)"), "{said:?}");
        assert!(said[0].contains("one every 3.0 in (8 cm), and 1 renewal shoot near"), "{said:?}");
        assert!(
            said[0].ends_with("doubles, then base and downward shoots, then weak and blind ones")
        );
    }

    #[test]
    fn after_a_frost_doubles_stay_and_renewal_shoots_are_those_of_the_settings() {
        let frosted = TakeOff::DoublesStay;
        let around = Circumstances { take_off: frosted, renewal_shoots: 2.0, ..plain() };
        let crowded = said(Verdict::Overcrowded, around);
        assert!(
            crowded[0].contains("2 renewal shoots near the head; take off base"),
            "{crowded:?}"
        );
        let other = said(Verdict::OnTarget, around);
        assert_eq!(other, ["base shoots only"]);
        let none = Circumstances { renewal_shoots: 0.0, ..plain() };
        assert!(!said(Verdict::Overcrowded, none)[0].contains("renewal"));
    }

    #[test]
    fn each_verdict_says_its_own() {
        let buds = Circumstances { buds: Some((12, 50)), ..plain() };
        assert!(said(Verdict::UnderTarget, buds)[0].contains("bud loss"));
        assert!(said(Verdict::UnderTarget, buds)[0].contains("12 of 50"));
        assert!(said(Verdict::Undecided, plain())[0].contains("about 12 more"));
        assert_eq!(said(Verdict::OnTarget, plain()), ["doubles and base shoots only"]);
        let unknown = Circumstances { estimated: false, ..plain() };
        assert!(said(Verdict::Undecided, unknown)[0].contains("too few counts"));
    }

    #[test]
    fn excess_vigor_and_long_shoots_are_told() {
        let around = Circumstances { vigor: Some(VigorClass::Excess), too_long: true, ..plain() };
        let said = said(Verdict::Overcrowded, around).join(" ");
        assert!(said.contains("already past") && said.contains("more canopy length"), "{said}");
    }
}
