//! Which vines to count, in which walk, and how sure of the block that will make.

use jiff::civil::Date;

use super::{
    deliver, prepare, recount_told,
    sample_files::{FILES, files},
    thin,
};
use crate::{
    counts::Count,
    error::Error,
    finding::{Finding, Findings, Place},
    jobs::{
        Call, Ground, Report,
        sample_told::{minutes, tell},
    },
    join::{self, Joined},
    maths::float,
    names::BlockName,
    read::Inputs,
    sample::{self, Before, Sample, Stop, Unit, Wish},
    settings::SampleSettings,
};

/// Fewest stops in a block when hours are shared out among blocks.
const FEWEST_A_BLOCK: usize = 2;

/// A block with what earlier counts say about it.
pub(super) struct Field {
    pub(super) ground: Ground,
    pub(super) joined: Joined,
    out: Vec<bool>,
    /// Between vines, by earlier counts.
    pub(super) variation: Option<f64>,
    /// Stops that somebody chose; drawn where there are none.
    chosen: Vec<Stop>,
    pub(super) findings: Findings,
}

/// Reads, draws a sample of every block, writes, and tells.
///
/// # Errors
/// A call without an output folder, wrong inputs, more asked for than there is, files that cannot be
/// written.
pub fn sample(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    let (inputs, findings) = prepare::read(call)?;
    let fields = fields(call, &inputs)?;
    let samples = draw(call, &fields)?;
    let folders = prepare::folders(&inputs.blocks);
    let mut report = Report::new("sample", &findings);
    for ((field, (sample, noticed)), folder) in fields.iter().zip(&samples).zip(&folders) {
        report.notice(&field.ground.findings);
        report.notice(&field.findings);
        report.notice(noticed);
        report.blocks.push(tell(call, field, sample, folder));
    }
    if call.sampling.for_audit {
        let doubts = recount_told::doubts(call, &inputs, (&fields, &samples));
        for doubts in &doubts {
            report.notice(doubts);
        }
    }
    prepare::strict(call, &report)?;
    let make = |at: usize| files(call, &inputs, (&fields[at], &samples[at]), &wanted);
    deliver::deliver(call, &folders, &mut report, make)?;
    let step = next(&report, call.sampling.for_audit);
    report.go_on([step]);
    Ok(report)
}

/// How to count, and where the counts go.
fn next(report: &Report, for_audit: bool) -> String {
    let count = if report.wrote("sample.csv") {
        "count at every stop of sample.csv and fill in its columns"
    } else if report.wrote("count-sheet.html") {
        "count at every stop of count-sheet.html, on a phone, and save its table"
    } else {
        "count at every stop and write the counts into a table"
    };
    if for_audit {
        format!(
            "mark nothing in view of the crew; {count} after the work, then pass it to `audit` with \
             --recount"
        )
    } else {
        format!("{count}; then pass it to `thin` with --counts")
    }
}

/// Every block laid out, with its earlier counts joined.
fn fields(call: &Call, inputs: &Inputs) -> Result<Vec<Field>, Error> {
    let grounds = prepare::ground(call, inputs, None)?;
    let names: Vec<&BlockName> = inputs.blocks.iter().map(|block| &block.name).collect();
    let (by_block, leftovers) = join::sort_by_block(&names, inputs.counts.clone());
    let (mut stops_by_block, strangers) = join::sort_by_block(&names, inputs.stops.clone());
    if let (Some(first), false) = (stops_by_block.first_mut(), strangers.is_empty()) {
        first.extend(strangers.into_iter().map(|stranger| stranger.count));
    }
    let mut fields = Vec::with_capacity(grounds.len());
    for ((ground, counts), stops) in grounds.into_iter().zip(by_block).zip(stops_by_block) {
        let settings = call.settings.join();
        let (joined, mut findings) = join::join(&ground.site, &ground.layout, &counts, &settings);
        let out = cannot_be_counted(call, &ground, &joined);
        let variation = variation(&joined, &call.settings.sample());
        let (chosen, told) = chosen(call, &ground, (&stops, &out))?;
        findings.extend(told);
        fields.push(Field { ground, joined, out, variation, chosen, findings });
    }
    let joined = |field: &Field| !field.joined.records.is_empty();
    if !call.request.counts.is_empty() && !fields.iter().any(joined) {
        let unjoined = fields.iter().flat_map(|field| &field.joined.unjoined).chain(&leftovers);
        return Err(Error::Nothing(thin::nothing_joined(unjoined)));
    }
    if let (Some(first), false) = (fields.first_mut(), leftovers.is_empty()) {
        let what = format!("{} earlier records belong to none of these blocks", leftovers.len());
        first.findings.push(
            Finding::warning(Place::field("--counts"), what).mend("check their column `block`"),
        );
    }
    Ok(fields)
}

/// True at places without a vine, and at those of vines that are too young for a target.
fn cannot_be_counted(call: &Call, ground: &Ground, joined: &Joined) -> Vec<bool> {
    let year = call.thinning.date.or(joined.date).map(Date::year);
    let young_years = call.settings.plan().young_years;
    let plantings = ground.site.plantings.all();
    let young = |planting: usize| {
        plantings.get(planting).is_some_and(|planting| planting.is_young(year, young_years))
    };
    let out = |vine: &join::VineRecord| {
        vine.status.is_missing() || vine.status.is_young() || young(vine.planting)
    };
    joined.vines.iter().map(out).collect()
}

/// The stops of a list that somebody made, at their places; what is odd about them.
fn chosen(
    call: &Call,
    ground: &Ground,
    (stops, out): (&[Count], &[bool]),
) -> Result<(Vec<Stop>, Findings), Error> {
    let (site, layout) = (&ground.site, &ground.layout);
    let (found, _about_counts) = join::join(site, layout, stops, &call.settings.join());
    let without_place = |stop: &join::UnjoinedRecord| {
        Finding::fault(stop.count.place.clone(), "this stop has no place in the block")
            .because(stop.reason.clone())
            .mend("correct its row, panel or vine, or take the line out")
    };
    let faults: Findings = found.unjoined.iter().map(without_place).collect();
    if !faults.is_empty() {
        return Err(Error::Input(faults));
    }
    let (mut chosen, mut findings): (Vec<Stop>, _) = (Vec::new(), Findings::none());
    for record in &found.records {
        let vine = record.panel.is_none().then(|| record.vines.first().copied()).flatten();
        let Some(panel) = record.panel.or_else(|| Some(layout.vines[vine?].panel)) else {
            continue;
        };
        let place = || record.count.place.clone();
        let vines = vine.map_or(layout.panels[panel].vines.clone(), |vine| vine..vine + 1);
        if vines.clone().all(|vine| out[vine]) {
            let what = "no vine stands at this stop that can be counted";
            findings
                .push(Finding::warning(place(), what).mend("choose another, or mend its status"));
        }
        if chosen.iter().any(|known| (known.panel, known.vine) == (panel, vine)) {
            let what = "this stop stands in the list twice";
            findings.push(Finding::warning(place(), what).because("it is walked once"));
            continue;
        }
        chosen.push(Stop::chosen(layout, panel, vine));
    }
    if chosen.is_empty() && call.request.stops.is_some() {
        let what = format!("block `{}` has no stop in the list", site.name);
        findings.push(Finding::note(Place::field("--stops"), what));
    }
    Ok((chosen, findings))
}

/// Fewer earlier counts than this say too little of how much vines vary.
const FEWEST_FOR_VARIATION: usize = 5;

/// The coefficient of variation between vines, within plantings, by earlier counts: of single vines,
/// else of whole panels.
fn variation(joined: &Joined, settings: &SampleSettings) -> Option<f64> {
    let planting = |observation: &join::Observation| joined.vines[observation.vines[0]].planting;
    let counted = |whole: bool| {
        let those = joined.shoots.iter().filter(move |one| (one.vines.len() > 1) == whole);
        let values: Vec<_> = those.clone().map(|one| (planting(one), one.per_m)).collect();
        let vines: usize = those.map(|one| one.vines.len()).sum();
        (values.len() >= FEWEST_FOR_VARIATION).then_some((values, vines))
    };
    let (values, vines) = counted(false).or_else(|| counted(true))?;
    let size = float(vines) / float(values.len());
    let of_units = sample::variation_within(&values)?;
    Some(sample::variation_of_vines(of_units, size, settings.alike_in_panel))
}

/// A sample with what is to be known about it.
pub(super) type Drawn = (Sample, Findings);

/// A sample of every block: each by its own rule, or as many as the hours allow.
fn draw(call: &Call, fields: &[Field]) -> Result<Vec<Drawn>, Error> {
    let own = |field: &Field| draw_one(call, field, call.sampling.number);
    let Some(hours) = call.sampling.hours else { return fields.iter().map(own).collect() };
    let most =
        |field: &Field| field.ground.layout.panels.len().max(field.ground.layout.vines.len());
    let all: usize = fields.iter().map(most).sum();
    let vines: usize = fields.iter().map(|field| field.ground.layout.vines.len()).sum();
    let with_total = |total: usize| -> Result<Vec<Drawn>, Error> {
        let share = |field: &Field| total * field.ground.layout.vines.len() / vines.max(1);
        let number = |field: &Field| Some(share(field).max(FEWEST_A_BLOCK));
        fields.iter().map(|field| draw_one(call, field, number(field))).collect()
    };
    let hours_of = |drawn: &[Drawn]| -> f64 {
        let minutes = fields.iter().zip(drawn).map(|(field, (s, _))| minutes(call, field, s));
        minutes.sum::<f64>() / 60.0
    };
    let least = with_total(0)?;
    let needed = hours_of(&least);
    if needed > hours {
        let what = format!("{hours} h are not enough for {FEWEST_A_BLOCK} stops in every block");
        let finding = Finding::fault(Place::field("--hours"), what)
            .mend(format!("allow at least {needed:.1} h, or name fewer blocks"));
        return Err(Error::Usage(finding));
    }
    // Hours grow with the number: the largest that fits, by halving.
    let (mut fits, mut too_many, mut best) = (0, all + 1, least);
    while too_many - fits > 1 {
        let total = fits.midpoint(too_many);
        match with_total(total) {
            Ok(drawn) if hours_of(&drawn) <= hours => (fits, best) = (total, drawn),
            _ => too_many = total,
        }
    }
    Ok(best)
}

fn draw_one(call: &Call, field: &Field, number: Option<usize>) -> Result<Drawn, Error> {
    if call.request.stops.is_some() {
        let single = field.chosen.iter().any(|stop| stop.vine.is_some());
        let unit = if single { Unit::Vine } else { Unit::Panel };
        let sample = Sample::of_chosen(unit, field.chosen.clone(), &field.ground.layout);
        return Ok((sample, Findings::none()));
    }
    let wish = Wish {
        unit: call.sampling.unit,
        number,
        variation: field.variation,
        window: call.sampling.window,
        seed: call.thinning.seed.unwrap_or(1),
    };
    let ground = (&field.ground.site, &field.ground.layout);
    let settings = call.settings.sample();
    if call.sampling.for_audit {
        let [counted, alone] = counted_before(&field.joined);
        let before = Before { counted: &counted, alone: &alone };
        return sample::choose_recount(ground, (&field.out, before), &wish, &settings);
    }
    sample::choose(ground, &field.out, &wish, &settings)
}

/// By vine place: counted before at all, and counted alone.
fn counted_before(joined: &Joined) -> [Vec<bool>; 2] {
    let counted = joined.vines.iter().map(|vine| vine.counted).collect();
    let mut alone = vec![false; joined.vines.len()];
    for one in joined.shoots.iter().filter(|one| one.vines.len() == 1) {
        alone[one.vines[0]] = true;
    }
    [counted, alone]
}

/// By stop: it was counted before, so that it tells a change.
pub(super) fn stops_before(field: &Field, stops: &[Stop]) -> Vec<bool> {
    let (layout, [counted, alone]) = (&field.ground.layout, counted_before(&field.joined));
    let before = Before { counted: &counted, alone: &alone };
    let is_pair =
        |stop: &Stop| sample::is_pair(layout, (stop.panel, stop.vine), before, &field.out);
    stops.iter().map(is_pair).collect()
}

/// What the record of a recount says: which stops are pairs, and that nothing is marked.
pub(super) fn recount_words(field: &Field, sample: &Sample) -> String {
    let layout = &field.ground.layout;
    let before = stops_before(field, &sample.stops);
    let pairs = sample.stops.iter().zip(before).filter(|(_, before)| *before).map(|(stop, _)| stop);
    let id = |stop: &Stop| {
        let panel = &layout.panels[stop.panel];
        stop.vine.map_or_else(
            || layout.digits.panel(panel.row, panel.panel),
            |vine| layout.digits.vine(panel.row, layout.vines[vine].vine),
        )
    };
    let ids: Vec<String> = pairs.map(id).collect();
    format!(
        "a recount: {} of {} stops were counted before ({}), none of the others; mark nothing in view \
         of the crew",
        ids.len(),
        sample.stops.len(),
        ids.join(", ")
    )
}
