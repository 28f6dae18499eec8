//! Where labels of zones stand: inside their zone, or led out to free paper; never on each other.

use geo::{Coord, MultiPolygon};

use crate::{
    error::Error,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        boxes::{Boxed, Edge, deepest, distance_to_edges, edges, grid, holds, steps},
        colours::{INK, PAPER},
        lettering::{shorten, width_mm},
        map::Area,
        marks::label_stroke,
        zone_mark::ZoneMark,
    },
};

/// The name of a zone.
const NAME: Hand = Hand { size_mm: 4.2, bold: true };
/// Its value or verdict.
const WORDS: Hand = Hand { size_mm: 3.4, bold: false };
/// Paper between two labels, and between a label that is led out and the block.
const APART_MM: f64 = 1.2;
const CLEAR_OF_BLOCK_MM: f64 = 2.5;
/// Paper around the lettering.
const PADDING_MM: f64 = 0.9;

/// A label to be placed.
#[derive(Debug, Clone)]
pub(super) struct Label {
    lines: Vec<(String, Hand)>,
    width_mm: f64,
    height_mm: f64,
    /// The line around it.
    frame: Stroke,
}

/// What labels must keep clear of, and where they have come to stand.
#[derive(Debug, Clone)]
pub(super) struct Labels {
    area: Area,
    outline: Vec<Edge>,
    taken: Vec<Boxed>,
    leaders: Vec<Edge>,
    spared: Vec<Coord<f64>>,
    marks: Vec<Mark>,
}

impl Labels {
    /// Labels over a map: `outline` is the block on paper, `taken` what else is lettered, `spared`
    /// the marks that a label had better not hide.
    pub(super) fn new(
        area: Area,
        outline: &MultiPolygon<f64>,
        taken: Vec<Boxed>,
        spared: &[PaperPoint],
    ) -> Self {
        let spared = spared.iter().map(|at| Coord { x: at.x_mm, y: at.y_mm }).collect();
        Self { area, outline: edges(outline), taken, leaders: vec![], spared, marks: vec![] }
    }

    /// The marks of what was placed since they were taken last.
    pub(super) fn take_marks(&mut self) -> Vec<Mark> {
        std::mem::take(&mut self.marks)
    }

    /// The labels as marks.
    pub(super) fn into_marks(self) -> Vec<Mark> {
        self.marks
    }

    /// Places a label: inside its zone, else led out of the block; if neither has room, its name
    /// alone.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn place(
        &mut self,
        shape: &MultiPolygon<f64>,
        zone: &ZoneMark,
    ) -> Result<(), Error> {
        let (name, words) = ((zone.name.as_str(), NAME), (zone.words.as_str(), WORDS));
        let framed = |lines: &[(&str, Hand)]| -> Result<Label, Error> {
            Ok(Label { frame: label_stroke(zone.planting), ..Label::new(lines)? })
        };
        let (long, short) = (framed(&[name, words])?, framed(&[name])?);
        if !self.put_where_free(shape, &[long, short.clone()])
            && let Some(anchor) = deepest(shape, &edges(shape))
        {
            // No free paper at all: better on something than left out.
            self.put(&short, anchor);
        }
        Ok(())
    }

    /// Places the first form of a label that finds free paper, inside its ground or led out of the
    /// block; false when none does.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn place_where_free(
        &mut self,
        shape: &MultiPolygon<f64>,
        forms: &[&[(&str, Hand)]],
    ) -> Result<bool, Error> {
        let labels: Result<Vec<Label>, Error> = forms.iter().map(|form| Label::new(form)).collect();
        Ok(self.put_where_free(shape, &labels?))
    }

    fn put_where_free(&mut self, shape: &MultiPolygon<f64>, forms: &[Label]) -> bool {
        let zone = edges(shape);
        let Some(anchor) = deepest(shape, &zone) else { return false };
        for label in forms {
            if let Some(at) = self.inside(shape, &zone, label) {
                self.put(label, at);
                return true;
            }
            if self.led_out(label, anchor) {
                return true;
            }
        }
        false
    }

    /// Leads a label out of the block from that of several places which has the shortest way, if
    /// that is no longer than `longest_mm`; false when there is no free paper.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn call_out(
        &mut self,
        anchors: &[PaperPoint],
        lines: &[(&str, Hand)],
        longest_mm: f64,
    ) -> Result<bool, Error> {
        let label = Label::new(lines)?;
        let ways = anchors.iter().filter_map(|anchor| {
            let anchor = Coord { x: anchor.x_mm, y: anchor.y_mm };
            let at = self.outside(&label, anchor)?;
            Some(((at.x - anchor.x).hypot(at.y - anchor.y), anchor))
        });
        let ways = ways.filter(|(way, _)| *way <= longest_mm);
        let shortest = ways.min_by(|(one, _), (other, _)| one.total_cmp(other));
        Ok(shortest.is_some_and(|(_, anchor)| self.led_out(&label, anchor)))
    }

    fn led_out(&mut self, label: &Label, anchor: Coord<f64>) -> bool {
        let Some(at) = self.outside(label, anchor) else { return false };
        self.lead(anchor, at);
        self.put(label, at);
        true
    }

    fn inside(
        &self,
        shape: &MultiPolygon<f64>,
        zone: &[Edge],
        label: &Label,
    ) -> Option<Coord<f64>> {
        let fits = |at: &Coord<f64>| {
            let place = label.at(*at);
            holds(zone, *at)
                && !zone.iter().any(|[from, to]| place.is_crossed(*from, *to))
                && self.is_free(&place)
        };
        let score = |at: &Coord<f64>| {
            let place = label.at(*at);
            let hidden = self.spared.iter().filter(|mark| place.is_crossed(**mark, **mark)).count();
            let hidden = crate::maths::float(hidden);
            distance_to_edges(zone, *at).min(3.0 * label.height_mm) - 4.0 * hidden
        };
        grid(shape)
            .into_iter()
            .filter(fits)
            .map(|at| (score(&at), at))
            .max_by(|one, other| one.0.total_cmp(&other.0))
            .map(|(_, at)| at)
    }

    fn outside(&self, label: &Label, anchor: Coord<f64>) -> Option<Coord<f64>> {
        let half = Coord { x: label.width_mm / 2.0, y: label.height_mm / 2.0 };
        let corner = self.area.corner;
        let spots = steps().flat_map(|x| steps().map(move |y| (x, y))).map(|(x, y)| Coord {
            x: corner.x_mm + half.x + x * (self.area.width_mm - 2.0 * half.x),
            y: corner.y_mm + half.y + y * (self.area.height_mm - 2.0 * half.y),
        });
        let fits = |at: &Coord<f64>| {
            let place = label.at(*at);
            let clear = place.with_margin(CLEAR_OF_BLOCK_MM);
            !holds(&self.outline, *at)
                && !self.outline.iter().any(|[from, to]| clear.is_crossed(*from, *to))
                && self.is_free(&place)
                && !self.taken.iter().any(|taken| taken.with_margin(0.6).is_crossed(anchor, *at))
        };
        let away = |at: &Coord<f64>| (at.x - anchor.x).hypot(at.y - anchor.y);
        spots.filter(fits).min_by(|one, other| away(one).total_cmp(&away(other)))
    }

    fn is_free(&self, place: &Boxed) -> bool {
        let place = place.with_margin(APART_MM);
        !self.taken.iter().any(|taken| taken.overlaps(&place))
            && !self.leaders.iter().any(|[from, to]| place.is_crossed(*from, *to))
    }

    fn lead(&mut self, anchor: Coord<f64>, label: Coord<f64>) {
        let point = |at: Coord<f64>| PaperPoint::new(at.x, at.y);
        let line = Outline::Line(vec![point(anchor), point(label)]);
        for (colour, width_mm) in [(PAPER, 1.0), (INK, 0.35)] {
            let stroke = Some(Stroke { colour, width_mm, dash_mm: None });
            let outlines = vec![line.clone()];
            self.marks.push(Mark::Shape(Shape { outlines, fill: None, stroke }));
        }
        let dot = Outline::Disc { centre: point(anchor), radius_mm: 0.7 };
        let stroke = Some(Stroke { colour: PAPER, width_mm: 0.3, dash_mm: None });
        self.marks.push(Mark::Shape(Shape { outlines: vec![dot], fill: Some(INK), stroke }));
        self.leaders.push([anchor, label]);
    }

    fn put(&mut self, label: &Label, at: Coord<f64>) {
        self.taken.push(label.at(at));
        self.marks.extend(label.marks(at));
    }
}

impl Label {
    fn new(lines: &[(&str, Hand)]) -> Result<Self, Error> {
        let mut kept = Vec::new();
        let mut widest = 0.0_f64;
        for (words, hand) in lines.iter().filter(|(words, _)| !words.is_empty()) {
            let words = shorten(words, *hand, 45.0)?;
            widest = widest.max(width_mm(&words, *hand)?);
            kept.push((words, *hand));
        }
        let height: f64 = kept.iter().map(|(_, hand)| 1.16 * hand.size_mm).sum();
        Ok(Self {
            lines: kept,
            width_mm: widest + 2.0 * PADDING_MM,
            height_mm: height + 1.2 * PADDING_MM,
            frame: label_stroke(0),
        })
    }

    fn at(&self, middle: Coord<f64>) -> Boxed {
        let middle = PaperPoint::new(middle.x, middle.y);
        Boxed::new(middle, self.width_mm, self.height_mm)
    }

    fn marks(&self, at: Coord<f64>) -> Vec<Mark> {
        let (x, y) = (self.width_mm / 2.0, self.height_mm / 2.0);
        let corners = [(-x, -y), (x, -y), (x, y), (-x, y)];
        let ring = corners.map(|(x, y)| PaperPoint::new(at.x + x, at.y + y)).to_vec();
        let stroke = Some(self.frame);
        let shape = Shape { outlines: vec![Outline::Ring(ring)], fill: Some(PAPER), stroke };
        let mut marks = vec![Mark::Shape(shape)];
        let mut base = at.y - y + 0.6 * PADDING_MM;
        for (words, hand) in &self.lines {
            base += 1.16 * hand.size_mm;
            let at = PaperPoint::new(at.x, base - 0.26 * hand.size_mm);
            let set = (Anchor::Middle, INK);
            marks.push(Mark::Lettering(Lettering::level(at, words.clone(), *hand, set)));
        }
        marks
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;
    use crate::{
        maths::{float, random::Random, whole},
        picture::{HeatMap, Paper, columns, example::Example},
    };

    /// How many labels are led out, after looking at every one.
    #[track_caller]
    fn led_out(example: &Example) -> usize {
        let subject = example.subject(HeatMap::ThinningNeed);
        let (page, placement) = columns::choose_for(std::slice::from_ref(&subject)).unwrap();
        let outline = placement.polygon(&subject.outline);
        let mut labels = Labels::new(page.map, &outline, vec![], &[]);
        // A band may miss a block that was drawn by lot.
        let zones = subject.zones.iter().filter(|zone| !zone.shape.0.is_empty());
        for zone in zones.clone() {
            let shape = placement.polygon(&zone.shape);
            labels.place(&shape, zone).unwrap();
            let (placed, zone) = (labels.taken.last().unwrap(), edges(&shape));
            let within = |edges: &[Edge]| {
                let crossed = edges.iter().any(|[from, to]| placed.is_crossed(*from, *to));
                (holds(edges, placed.middle), crossed)
            };
            let led = labels.leaders.iter().any(|[_, to]| *to == placed.middle);
            let wanted = if led { (false, false) } else { (true, false) };
            let ground = if led { &labels.outline } else { &zone };
            assert_eq!(within(ground), wanted, "{}: {}", example.name, labels.taken.len());
            assert!(placed.is_within(&page.map), "{}: off the map", example.name);
        }
        for (at, one) in labels.taken.iter().enumerate() {
            assert!(labels.taken[at + 1..].iter().all(|other| !one.overlaps(other)));
        }
        assert_eq!(labels.taken.len(), zones.count());
        labels.leaders.len()
    }

    /// A block with four to seven corners, from small to large and from round to long and thin.
    fn drawn_by_lot(random: &mut Random) -> Example {
        let long = 40.0 * 15.0_f64.powf(random.uniform());
        let half = [long / 2.0, long / 2.0 / 10.0_f64.powf(random.uniform())];
        let half = if random.uniform() < 0.5 { half } else { [half[1], half[0]] };
        let corners = 4 + whole(random.uniform() * 4.0);
        let corner = |at: usize| {
            let turn = TAU * (float(at) + 0.6 * random.uniform()) / float(corners);
            let reach = 0.65 + 0.35 * random.uniform();
            (half[0] * (1.0 + reach * turn.cos()), half[1] * (1.0 + reach * turn.sin()))
        };
        Example {
            name: "a block drawn by lot",
            outline: (0..corners).map(corner).collect(),
            bearing: 360.0 * random.uniform(),
            gaps_m: [(half[1] / 20.0).max(2.0), (half[0] / 30.0).max(1.0)],
            zones: 1 + whole(random.uniform() * 8.0),
            paper: if random.uniform() < 0.5 { Paper::A4 } else { Paper::Letter },
            ..Example::small()
        }
    }

    #[test]
    fn labels_of_200_blocks_drawn_by_lot_never_meet_and_stay_on_the_map() {
        let mut random = Random::new(8);
        let led: usize = (0..200).map(|_| led_out(&drawn_by_lot(&mut random))).sum();
        assert!((50..800).contains(&led), "{led} led out: too few or too many to have tried both");
    }

    #[test]
    fn labels_stand_in_their_zone_or_are_led_out_and_never_meet() {
        assert_eq!(led_out(&Example::small()), 0);
        assert_eq!(led_out(&Example::large()), 0);
        let narrow = vec![(0.0, 0.0), (30.0, 0.0), (30.0, 400.0), (0.0, 400.0)];
        assert_eq!(led_out(&Example { outline: narrow, zones: 3, ..Example::small() }), 3);
        assert!(led_out(&Example { zones: 24, ..Example::small() }) > 5);
    }
}
