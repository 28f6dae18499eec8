//! The study as a document.

use std::fmt::Write;

use catchwire::{estimate::Method, maths::float};

use crate::{
    ground::{Ground, MEAN_PER_M, SIDES_M, SPACINGS_M, VARIATION},
    method_word, root_mean,
    score::{Hits, Score},
};

/// Simulated blocks with one pattern and one number of counts.
pub(crate) struct Case {
    pub(crate) name: &'static str,
    pub(crate) counts: usize,
    pub(crate) scores: Vec<Score>,
}

/// What a group of intervals covers: its share, the standard error of that, and their mean width.
struct Cover {
    share: f64,
    error: f64,
    width: f64,
}

/// A ratio of sums over blocks, which are independent; what lies in one block is not.
///
/// # Source
/// Cochran 1977, Sampling Techniques, 3rd ed., 6.4 (the linearised variance of a ratio).
fn cover(hits: &[Hits]) -> Cover {
    let sum = |of: fn(&Hits) -> f64| hits.iter().map(of).sum::<f64>();
    let asked = sum(|hits| float(hits.asked));
    let share = sum(|hits| float(hits.held)) / asked;
    let off = |hits: &Hits| (float(hits.held) - share * float(hits.asked)).powi(2);
    let n = float(hits.len());
    let squares = hits.iter().map(off).sum::<f64>() * n / (n - 1.0).max(1.0);
    Cover { share, error: squares.sqrt() / asked, width: sum(|hits| hits.width) / asked }
}

const ASKED: [fn(&Score) -> Hits; 4] =
    [|score| score.vines, |score| score.drawn, |score| score.quarters, |score| score.block];

impl Case {
    fn covers(&self) -> [Cover; 4] {
        ASKED.map(|of| cover(&self.scores.iter().map(of).collect::<Vec<_>>()))
    }

    /// Shares with their errors; short ones are marked.
    fn coverage_row(&self) -> String {
        let cell = |Cover { share, error, .. }: Cover| {
            // With every interval held, the error of the share is not 0: that of one miss.
            let error = error.max(share.min(1.0 - share).max(1.0 / float(self.scores.len())) * 0.1);
            let short = if share + 2.0 * error < 0.9 { " **short**" } else { "" };
            format!("{:.1} ± {:.1}{short}", 100.0 * share, 100.0 * error)
        };
        let cells = self.covers().map(cell).join(" | ");
        format!("| {} | {} | {cells} |", self.name, self.counts)
    }

    fn map_row(&self) -> String {
        let number = self.scores.len();
        let rmse = [0, 1].map(|k| {
            let sum = self.scores.iter().map(|score| score.squares[k]).sum();
            format!("{:.2}", root_mean(sum, number))
        });
        let widths = self.covers().map(|cover| format!("{:.2}", cover.width));
        let one = self.scores.iter().filter(|score| score.zones == 1).count();
        let zones = self.scores.iter().map(|score| score.zones).sum::<usize>();
        format!(
            "| {} | {} | {} | {} | {:.2} | {:.1} | {} |",
            self.name,
            self.counts,
            rmse.join(" | "),
            widths.join(" | "),
            float(zones) / float(number),
            100.0 * float(one) / float(number),
            self.methods(),
        )
    }

    fn methods(&self) -> String {
        let all = [Method::Kriging, Method::InverseDistance, Method::Mean, Method::None];
        let part = |&method: &Method| {
            let number = self.scores.iter().filter(|score| score.method == method).count();
            (number > 0).then(|| {
                let share = 100.0 * float(number) / float(self.scores.len());
                format!("{} {share:.0}", method_word(method))
            })
        };
        all.iter().filter_map(part).collect::<Vec<_>>().join(", ")
    }
}

/// The whole document.
pub(crate) fn document(ground: &Ground, cases: &[Case], blocks: usize) -> String {
    let mut text = introduction(ground, blocks);
    text.push_str(
        "## Coverage\n\nPercent of nominal 90 % intervals that hold the truth, ± the standard error of \
         the simulation\n(blocks are the independent units). **short**: below 90 by more than two of \
         these.\n\n\
         | pattern | counts | uncounted vines | zones drawn | fixed quarters | block |\n\
         | --- | --- | --- | --- | --- | --- |\n",
    );
    for case in cases {
        text.push_str(&(case.coverage_row() + "\n"));
    }
    text.push_str(
        "\n## Maps, widths, zones\n\nRMSE on uncounted vines and mean widths of the 90 % intervals, \
         shoots per metre; zones drawn a block;\nblocks with one zone and methods, percent.\n\n\
         | pattern | counts | RMSE map | RMSE mean | vine | zone | quarter | block | zones | one zone \
         | method |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for case in cases {
        text.push_str(&(case.map_row() + "\n"));
    }
    text
}

fn introduction(ground: &Ground, blocks: usize) -> String {
    let mut text = String::from("# Do intervals cover what they say?\n\n");
    let [along, across] = SIDES_M;
    let [vine, row] = SPACINGS_M;
    let _ = write!(
        text,
        "Made by `make study` (`examples/coverage/`): {blocks} simulated blocks a case, the same table \
         from the same\nprogram. Each block is {along} × {across} m with {} vines, {vine} m apart in \
         rows {row} m apart. Densities are\nnormal with mean {MEAN_PER_M} shoots a metre and a \
         standard deviation of {VARIATION} of it, rounded to whole shoots on\na vine. Vines are \
         chosen by `sample` (single vines, close pairs among them), counted whole with\nan observer's \
         error as in `estimate.observer_share`, and go through `estimate` and `zones` with the\n\
         default settings.\n\n\
         | pattern | variation of densities |\n| --- | --- |\n\
         | strong | exponential, nugget share 0.4, range a sixth of the block's longest extent |\n\
         | weak | exponential, nugget share 0.8, range a fifteenth |\n\
         | none | every vine for itself |\n\n",
        ground.layout.vines.len(),
    );
    text
}
