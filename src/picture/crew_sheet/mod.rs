//! The crew sheet: one page a crew, and a zone with more rows than a page holds shared out over
//! several, each with all that a crew needs: what to leave first, then what goes, row by row. At the
//! end a page without words.

mod drawings;
mod leave;
mod map;
mod rows;
mod shares;
mod wordless;

use jiff::civil::Date;

use self::shares::{Share, shares};
use super::{
    Anchor, Hand, Lettering, Mark, Paper, PaperPoint, Scene,
    colours::INK,
    furniture::{BODY, Furniture, HEADING, SMALL},
    heading::{head, rule},
    lettering::printable,
    page::MARGIN_MM,
    words,
};
use crate::{
    error::Error,
    names::{row_text, rows_for_people},
    plan::{CrewOutlook, Evidence, Plan, TakeOff, Verdict, ZonePlan, work::ZoneWork},
    settings::CrewWords,
    units::{PerMetre, ReadingUnits},
};

/// What a crew sheet is told beside the work.
#[derive(Debug, Clone, Copy)]
pub struct CrewPaper<'a> {
    /// The units it is read in.
    pub units: ReadingUnits,
    /// The paper.
    pub paper: Paper,
    /// Renewal shoots left on a vine beside the aim.
    pub renewal_shoots: f64,
    /// The day of the plan, when said.
    pub today: Option<Date>,
    /// Its words.
    pub words: &'a CrewWords,
}

/// Where the rest begins, below the title.
const TOP_MM: f64 = MARGIN_MM + 18.0;
/// Width of the small map, and paper beside it.
const MAP_MM: f64 = 66.0;
const GUTTER_MM: f64 = 4.0;

/// The pages, upright: those of every zone that is worked, in the order of work.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub fn crew_sheet(
    evidence: Evidence<'_>,
    plan: &Plan,
    work: &[ZoneWork],
    told: &CrewPaper<'_>,
) -> Result<Vec<Scene>, Error> {
    let sheet = Sheet::new(evidence, told)?;
    let worked = &work[..plan.order.len().min(work.len())];
    let mut bodies: Vec<(String, Furniture)> = Vec::new();
    for zone in worked {
        for share in sheet.shares(plan, zone)? {
            bodies.push((sheet.subtitle(plan, &share), sheet.page(plan, &share)?));
        }
    }
    let elsewhere = sheet.elsewhere(plan)?;
    let room = sheet.room();
    let fits = |(_, page): &&mut (String, Furniture)| page.height_mm + elsewhere.height_mm <= room;
    match bodies.iter_mut().rev().find(fits) {
        Some((_, page)) => page.below(elsewhere),
        None => bodies.push((String::new(), elsewhere)),
    }
    // Where nothing comes off by number, and after a frost, what the last page shows may be crop.
    let last = !worked.is_empty();
    let pages = bodies.len() + usize::from(last);
    let numbered = bodies.into_iter().enumerate();
    let lettered = numbered
        .map(|(at, (subtitle, body))| sheet.scene((&subtitle, body), [at + 1, pages]))
        .collect::<Result<Vec<Scene>, Error>>()?;
    let without_words = last.then(|| sheet.without_words(plan.take_off, [pages, pages]));
    Ok(lettered.into_iter().chain(without_words).collect())
}

/// What all pages have.
struct Sheet<'a> {
    evidence: Evidence<'a>,
    told: &'a CrewPaper<'a>,
    block: String,
    foot: Furniture,
}

impl<'a> Sheet<'a> {
    fn new(evidence: Evidence<'a>, told: &'a CrewPaper<'a>) -> Result<Self, Error> {
        let block = printable(evidence.site.name.as_str());
        let mut sheet = Self { evidence, told, block, foot: Furniture::default() };
        let caution = sheet.say("caution", &[]);
        let inside = sheet.inside();
        sheet.foot.paragraph(&caution, SMALL, (inside, INK))?;
        sheet.foot.space(4.4);
        Ok(sheet)
    }

    fn say(&self, key: &str, filling: &[(&str, &str)]) -> String {
        self.told.words.say(key, filling)
    }

    fn inside(&self) -> f64 {
        self.told.paper.sides_mm()[0] - 2.0 * MARGIN_MM
    }

    fn foot_top(&self) -> f64 {
        self.told.paper.sides_mm()[1] - MARGIN_MM - self.foot.height_mm
    }

    fn room(&self) -> f64 {
        self.foot_top() - 4.0 - TOP_MM
    }

    fn date(&self, date: Date) -> String {
        if self.told.words.are_own() {
            words::date(date, self.told.units)
        } else {
            date.to_string()
        }
    }

    /// The zone, its place in the order, which share of it, its cultivar, its days.
    fn subtitle(&self, plan: &Plan, share: &Share) -> String {
        let zone = share.work.zone;
        let (planned, known) = (&plan.zones[zone], &self.evidence.zones.zones[zone]);
        let order = planned.order.unwrap_or(1).to_string();
        let zones = plan.order.len().to_string();
        let name = known.name.as_deref().map(|name| format!(" {}", printable(name)));
        let mut said = vec![format!("{}{}", known.id, name.unwrap_or_default())];
        said.push(self.say("zone_of", &[("order", &order), ("zones", &zones)]));
        if share.place[1] > 1 {
            let [part, parts] = share.place.map(|number| number.to_string());
            said.push(self.say("part", &[("part", &part), ("parts", &parts)]));
        }
        let cultivar = self.evidence.site.plantings.all().get(known.planting);
        said.extend(cultivar.and_then(|grows| grows.cultivar.as_deref()).map(printable));
        let open = self.is_open(planned);
        let days = [("thin_from", planned.thin_from), ("thin_by", planned.thin_by)];
        for (key, date) in days.into_iter().filter(|_| open) {
            said.extend(date.map(|date| self.say(key, &[("date", &self.date(date))])));
        }
        if !open {
            said.push(self.say("past", &[]));
        }
        said.join(" · ")
    }

    /// False where the window has no day left: it is over, or opens after it closes.
    fn is_open(&self, planned: &ZonePlan) -> bool {
        let days = planned.thin_from.zip(planned.thin_by).is_none_or(|(from, by)| from <= by);
        let left =
            self.told.today.zip(planned.thin_by_latest).is_none_or(|(today, by)| today <= by);
        days && left
    }

    /// The work of a zone, a page each.
    fn shares(&self, plan: &Plan, work: &ZoneWork) -> Result<Vec<Share>, Error> {
        // What stands above the rows is as high for any share: the widest words are those of all.
        let whole = Share { work: work.clone(), place: [1, 2], done_h: 0.0 };
        let room = self.room() - self.top(plan, &whole)?.height_mm;
        shares(work, room, |row| Ok(rows::row(row, self.told, self.inside())?.height_mm))
    }

    /// A page without its head and foot.
    fn page(&self, plan: &Plan, share: &Share) -> Result<Furniture, Error> {
        let mut page = self.top(plan, share)?;
        for row in &share.work.rows {
            page.below(rows::row(row, self.told, self.inside())?);
        }
        Ok(page)
    }

    /// What to leave, the facts, the map, the ruler, what goes, and what the boxes mean.
    fn top(&self, plan: &Plan, share: &Share) -> Result<Furniture, Error> {
        let inside = self.inside();
        let left = inside - MAP_MM - GUTTER_MM;
        let aim = aim(&plan.zones[share.work.zone]);
        let mut all = leave::leave(aim, self.told, left)?;
        let past = !self.is_open(&plan.zones[share.work.zone]);
        let past = past.then(|| self.say("too_late", &[]));
        let facts = std::iter::once(self.facts(share)).chain(past);
        for line in facts.chain(self.crew(plan, share)).chain(self.only_page(share)) {
            all.space(1.5);
            all.paragraph(&line, BODY, (left, INK))?;
        }
        let words = self.say("map", &[]);
        let row = self.say("row", &[("row", "")]);
        let said = (self.told.units, [words.as_str(), row.trim()]);
        let map = map::map(self.evidence, &share.work, said, MAP_MM)?;
        let deep = all.height_mm.max(map.height_mm);
        all.marks.extend(map.at(PaperPoint::new(left + GUTTER_MM, 0.0)));
        all.height_mm = deep + 1.0;
        all.below(leave::ruler(aim, self.told, inside)?);
        all.space(1.0);
        all.below(leave::take(plan.take_off, self.told, inside)?);
        all.space(1.5);
        all.paragraph(&self.say("boxes", &[]), SMALL, (inside, INK))?;
        all.below(rows::divider(inside));
        Ok(all)
    }

    fn facts(&self, share: &Share) -> String {
        let mut numbers: Vec<u32> = share.work.rows.iter().map(|row| row.row).collect();
        numbers.dedup();
        let rows = self.rows(&row_text(&numbers));
        let hours = format!("{:.1}", share.hours());
        let vines = words::grouped(share.vines());
        let shoots = words::grouped(crate::maths::whole(share.take().round()));
        let filling =
            [("rows", rows.as_str()), ("vines", &vines), ("shoots", &shoots), ("hours", &hours)];
        self.say("facts", &filling)
    }

    /// Rows in words, of the text that files have.
    fn rows(&self, row_text: &str) -> String {
        let one = row_text.bytes().all(|letter| letter.is_ascii_digit());
        let key = if one { "row" } else { "rows" };
        self.say(key, &[(key, &rows_for_people(row_text))])
    }

    /// That this page is enough for whoever has it, where the zone has several.
    fn only_page(&self, share: &Share) -> Option<String> {
        (share.place[1] > 1).then(|| self.say("only_page", &[]))
    }

    /// What the crew that was named finishes when.
    fn crew(&self, plan: &Plan, share: &Share) -> Vec<String> {
        let Some(crew) = &plan.crew else { return Vec::new() };
        let Some(done) = done(plan, crew, share) else { return Vec::new() };
        let people = crew.people.to_string();
        let own = words::number((share.hours() / f64::from(crew.people)).max(0.1), 1);
        let mut said = vec![self.say("people", &[("people", &people), ("hours", &own)])];
        let (hours, days) =
            (words::number(crew.hours_per_day, 1), words::number(done.days.max(0.1), 1));
        said.push(self.say("in_turn", &[("hours", &hours), ("days", &days)]));
        if done.late && self.is_open(&plan.zones[share.work.zone]) {
            let key = if crew.enough.is_some() { "late" } else { "too_late" };
            said.push(self.say(key, &[]));
        }
        said
    }

    /// Zones where nothing comes off by number.
    fn elsewhere(&self, plan: &Plan) -> Result<Furniture, Error> {
        let mut all = Furniture::default();
        let others: Vec<usize> =
            (0..plan.zones.len()).filter(|zone| !plan.order.contains(zone)).collect();
        if others.is_empty() {
            return Ok(all);
        }
        let key = if plan.order.is_empty() { "nothing" } else { "elsewhere" };
        all.space(3.0);
        all.paragraph(&self.say(key, &[]), HEADING, (self.inside(), INK))?;
        for zone in others {
            let (known, planned) = (&self.evidence.zones.zones[zone], &plan.zones[zone]);
            let rows = self.rows(&known.rows);
            let frost = plan.frost.map(|date| self.date(date)).unwrap_or_default();
            let work = match lightly(plan, planned) {
                key @ "elsewhere_frost" => self.say(key, &[("date", &frost)]),
                key => self.say(key, &[]),
            };
            let said = format!("{} · {rows} · {work}", known.id);
            all.paragraph(&printable(&said), BODY, (self.inside(), INK))?;
        }
        Ok(all)
    }

    fn scene(
        &self,
        (subtitle, body): (&str, Furniture),
        [page, pages]: [usize; 2],
    ) -> Result<Scene, Error> {
        let [short, long] = self.told.paper.sides_mm();
        let kind = self.say("sheet", &[]);
        let mut marks = head((&self.block, &kind), subtitle, [short, long])?;
        marks.extend(body.at(PaperPoint::new(MARGIN_MM, TOP_MM)));
        marks.push(rule([short, long], self.foot_top() - 1.5));
        marks.extend(self.foot.clone().at(PaperPoint::new(MARGIN_MM, self.foot_top())));
        let [page, pages] = [page, pages].map(|number| number.to_string());
        let which = self.say("page", &[("page", &page), ("pages", &pages)]);
        let at = PaperPoint::new(short - MARGIN_MM, long - MARGIN_MM);
        marks.push(lettered(at, which, SMALL, Anchor::End));
        Ok(Scene { paper_mm: [short, long], title: format!("{}: {kind}", self.block), marks })
    }

    /// The drawings, with nothing but the numbers of the page.
    fn without_words(&self, take_off: TakeOff, [page, pages]: [usize; 2]) -> Scene {
        let [short, long] = self.told.paper.sides_mm();
        let drawn = wordless::wordless(take_off, [self.inside(), long - 2.0 * MARGIN_MM - 6.0]);
        let mut marks: Vec<Mark> = drawn.at(PaperPoint::new(MARGIN_MM, MARGIN_MM)).collect();
        let at = PaperPoint::new(short - MARGIN_MM, long - MARGIN_MM);
        marks.push(lettered(at, format!("{page}/{pages}"), SMALL, Anchor::End));
        let title = format!("{}: {}", self.block, self.say("sheet", &[]));
        Scene { paper_mm: [short, long], title, marks }
    }
}

/// When a share is done.
struct Done {
    /// Days of work since the first one began.
    days: f64,
    /// Some of it falls after the zone's window.
    late: bool,
}

/// When the crew that was named is through with a share, if zones are worked in their order.
fn done(plan: &Plan, crew: &CrewOutlook, share: &Share) -> Option<Done> {
    let zone = share.work.zone;
    let (_, days, _) = crew.finished.iter().find(|(of, ..)| *of == zone)?;
    let left_h = plan.zones[zone].hours.value - share.done_h;
    let late_h = crew.late.iter().find(|(of, _)| *of == zone).map_or(0.0, |(_, hours)| *hours);
    let days = days - left_h / (f64::from(crew.people) * crew.hours_per_day);
    Some(Done { days, late: late_h > left_h + 1e-6 })
}

/// What is left per metre of canopy.
fn aim(planned: &ZonePlan) -> PerMetre {
    PerMetre::new(planned.target_per_m.map_or(0.0, |target| target.aim_per_m))
}

/// What is done where nothing comes off by number: the key of its words.
fn lightly(plan: &Plan, planned: &ZonePlan) -> &'static str {
    match (planned.verdict, plan.take_off) {
        _ if plan.frost.is_some() => "elsewhere_frost",
        _ if planned.target_per_m.is_none() => "elsewhere_none",
        (Verdict::UnderTarget, _) => "elsewhere_few",
        (_, TakeOff::DoublesStay) => "elsewhere_stay",
        (Verdict::Undecided, TakeOff::DoublesFirst) => "elsewhere_unknown",
        (Verdict::Overcrowded | Verdict::OnTarget, TakeOff::DoublesFirst) => "elsewhere_do",
    }
}

fn lettered(at: PaperPoint, words: impl Into<String>, hand: Hand, anchor: Anchor) -> Mark {
    Mark::Lettering(Lettering::level(at, words, hand, (anchor, INK)))
}
