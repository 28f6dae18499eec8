//! What to recount after the work: half of it where vines were counted before, half where none was.
//!
//! Pairs tell what came off. Fresh places tell whether the crew did better where it saw that somebody
//! had counted.

use super::{
    Sample, Stop, Stratum, Unit, Wish, drawable::Drawable, number, size, told, walk, windows,
};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    frame::Site,
    layout::Layout,
    maths::random::Random,
    settings::SampleSettings,
};

/// What was counted before the work, by vine place.
#[derive(Debug, Clone, Copy)]
pub struct Before<'a> {
    /// Its shoots were counted, alone or with others.
    pub counted: &'a [bool],
    /// They were counted alone.
    pub alone: &'a [bool],
}

/// True when every vine of a place was counted before, so that a recount makes a pair.
pub fn is_pair(
    layout: &Layout,
    (panel, vine): (usize, Option<usize>),
    before: Before<'_>,
    out: &[bool],
) -> bool {
    vine.map_or_else(
        || {
            let mut standing = layout.panels[panel].vines.clone().filter(|&vine| !out[vine]);
            standing.all(|vine| before.counted[vine])
        },
        |vine| before.alone[vine],
    )
}

/// Draws a recount of a block: half of the stops pairs, or as many as there are; `out` is true for
/// places where no vine can be counted. Each half is spread over the ground with equal chances of its
/// own within every planting.
///
/// # Errors
/// When nothing can be drawn, or no place makes a pair.
///
/// # Source
/// As [`super::choose`]; the halves are our judgement.
pub fn choose_recount(
    (site, layout): (&Site, &Layout),
    (out, before): (&[bool], Before<'_>),
    wish: &Wish,
    settings: &SampleSettings,
) -> Result<(Sample, Findings), Error> {
    let drawable = Drawable::of((site, layout), out, wish.unit, settings);
    let variation = size::variation_of_unit(
        wish.variation.unwrap_or(settings.variation),
        drawable.mean_vines(),
        settings.alike_in_panel,
    );
    let number = number(site, &drawable, (wish, settings), variation)?;
    let pairs = drawable.only(|unit| is_pair(layout, (unit.panel, unit.vine), before, out));
    let fresh = drawable.only(|unit| {
        let of_panel = layout.panels[unit.panel].vines.clone();
        let mut vines = unit.vine.map_or(of_panel, |vine| vine..vine + 1);
        vines.all(|vine| !before.counted[vine])
    });
    if pairs.units.is_empty() {
        return Err(no_pair(site, wish.unit).into());
    }
    let half = (number / 2).clamp(1, pairs.units.len());
    let mut random = Random::new(wish.seed);
    let (mut stops, mut strata) = pairs.draw(half, &mut random);
    let (others, more) = fresh.draw(number.saturating_sub(half), &mut random);
    let first = strata.len();
    stops.extend(others.into_iter().map(|stop| Stop { stratum: first + stop.stratum, ..stop }));
    // A place outside is outside once, whichever half it is missing in.
    let reached = |planting: usize| -> usize {
        let own = pairs.units.iter().filter(|unit| unit.planting == planting);
        own.map(|unit| unit.vines).sum()
    };
    for stratum in &mut strata {
        stratum.vines_outside = 0;
    }
    strata.extend(more.into_iter().map(|stratum| {
        let outside = stratum.vines_outside.saturating_sub(reached(stratum.planting));
        Stratum { vines_outside: outside, ..stratum }
    }));
    walk::put_in_order(&mut stops, layout);
    windows::draw(&mut stops, (site, layout), (wish.window, settings), &mut random);
    let walk_m = walk::length_m(&stops, layout);
    let sample = Sample { unit: wish.unit, stops, strata, walk_m, variation };
    let findings = told(site, &sample);
    Ok((sample, findings))
}

fn no_pair(site: &Site, unit: Unit) -> Finding {
    let [one, _] = unit.words();
    let what = format!("no {one} that could be recounted was counted before");
    let other = match unit {
        Unit::Panel => "add --by vine where vines were counted one by one",
        Unit::Vine => "leave --by vine out where whole panels were counted",
    };
    Finding::fault(Place::default().in_feature(site.name.as_str()), what)
        .because("without pairs a recount does not tell what came off")
        .mend(other)
}
