//! Every default once: its key, value, meaning and source. `catchwire settings` prints this table.

/// One setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// The key in the settings file: `section.name`.
    pub key: &'static str,
    /// The default, as it would be written in the file.
    pub value: &'static str,
    /// What it is, with its unit.
    pub meaning: &'static str,
    /// Where the default comes from.
    pub source: &'static str,
}

const JUDGEMENT: &str = "our judgement";
const PRACTICE: &str = "common practice, no source";
const YOURS: &str = "yours; without it no cost is reckoned";

const fn setting(
    key: &'static str,
    value: &'static str,
    meaning: &'static str,
    source: &'static str,
) -> Setting {
    Setting { key, value, meaning, source }
}

/// All settings, by section.
pub const TABLE: &[Setting] = &[
    setting(
        "layout.headland",
        "9 m",
        "clear length ahead of a row's end in a new planting",
        "growers leave 25 to 40 ft, common practice; 30 ft in a grower's log of 2004",
    ),
    setting(
        "layout.vines_per_panel",
        "4",
        "vines between two line posts",
        "line posts 24 ft apart at 6 ft vines: Domoto, Iowa State University 2002",
    ),
    setting(
        "layout.shortest_row_vines",
        "3",
        "a shorter piece of row is not planted, in vines",
        JUDGEMENT,
    ),
    setting("layout.most_vines", "5000000", "vine places a block may hold", JUDGEMENT),
    setting(
        "layout.survey_tolerance",
        "0.1 m",
        "a surveyed row further off its spacing or its line is told row by row",
        JUDGEMENT,
    ),
    setting(
        "layout.slope_support",
        "10 m",
        "side of the square of ground over which slope is meant, with an elevation model",
        JUDGEMENT,
    ),
    setting(
        "sample.variation",
        "0.25",
        "standard deviation of shoots between vines over their mean, where no counts give it",
        "10 to 25 % in common practice, from memory; the upper end",
    ),
    setting(
        "sample.alike_in_panel",
        "0.3",
        "how alike two vines of a panel are (intraclass correlation)",
        JUDGEMENT,
    ),
    setting(
        "sample.error",
        "0.1",
        "error of the block's mean that is aimed at, as a share of it",
        JUDGEMENT,
    ),
    setting("sample.confidence", "0.9", "confidence of that error", JUDGEMENT),
    setting(
        "sample.fewest",
        "30",
        "fewest stops in a block: as many as a map with a fitted variation needs",
        "simulation, docs/methods.md",
    ),
    setting(
        "sample.skip_ends",
        "1",
        "vines at each end of a row that are not drawn; 0 in rows of under ten",
        "end vines bear other loads: common practice, from memory",
    ),
    setting(
        "sample.close_pair_every",
        "10",
        "one stop in so many gets its neighbour counted too",
        JUDGEMENT,
    ),
    setting(
        "sample.second_window_every",
        "5",
        "one counted stretch in so many gets a second one on its vine",
        JUDGEMENT,
    ),
    setting("sample.minutes_per_vine", "0.75", "minutes to count the shoots of a vine", JUDGEMENT),
    setting("sample.walk_m_per_minute", "50", "metres walked in a minute between stops", JUDGEMENT),
    setting(
        "bearings.short_piece",
        "30 m",
        "a piece of row below this counts as short when bearings are compared",
        JUDGEMENT,
    ),
    setting(
        "bearings.grazing_angle",
        "15",
        "the sun within so many degrees of the line of a row grazes both its sides",
        JUDGEMENT,
    ),
    setting(
        "materials.spare_share",
        "0.03",
        "vines ordered above the places, as a share of them",
        JUDGEMENT,
    ),
    setting(
        "materials.wires",
        "by training",
        "wires along a row: a number, or by training: one of the next three",
        JUDGEMENT,
    ),
    setting(
        "materials.wires_upward",
        "6",
        "wires where shoots are trained upward, or nothing is said",
        "5 to 7: Domoto, Iowa State University 2002",
    ),
    setting(
        "materials.wires_high_cordon",
        "2",
        "wires of a high cordon, high wire or Kniffin",
        "1 to 3: Domoto, Iowa State University 2002",
    ),
    setting(
        "materials.wires_two_curtains",
        "4",
        "wires of two curtains",
        "3 to 4: Domoto, Iowa State University 2002",
    ),
    setting("materials.tie", "0.5 m", "wire for tying, at each end of each wire", JUDGEMENT),
    setting(
        "materials.drip_spare_share",
        "0.03",
        "drip line above the length of the rows, as a share of it",
        JUDGEMENT,
    ),
    setting("prices.currency", "", "currency of the prices below, such as EUR", YOURS),
    setting("prices.vine", "", "price of a vine", YOURS),
    setting("prices.end_post", "", "price of an end post", YOURS),
    setting("prices.line_post", "", "price of a line post", YOURS),
    setting("prices.anchor", "", "price of an anchor", YOURS),
    setting("prices.wire_per_m", "", "price of a metre of wire", YOURS),
    setting("prices.drip_per_m", "", "price of a metre of drip line", YOURS),
    setting(
        "join.doubtful_canopy_ratio",
        "3",
        "a canopy length above so many times the default is doubted",
        JUDGEMENT,
    ),
    setting(
        "join.season_days",
        "200",
        "records more days apart belong to two seasons: shoots are counted within three months",
        JUDGEMENT,
    ),
    setting(
        "join.fewest_vigor_cells",
        "4",
        "a block of fewer cells of a raster of vigor shows no differences inside",
        JUDGEMENT,
    ),
    setting(
        "join.vigor_ground_rows",
        "0.5",
        "width of a vine's ground in a raster of vigor, across the row, in row spacings",
        JUDGEMENT,
    ),
    setting(
        "estimate.fewest_for_map",
        "5",
        "fewest counts for a map",
        "simulation, docs/methods.md",
    ),
    setting(
        "estimate.fewest_for_kriging",
        "30",
        "fewest counts for kriging with a fitted variation",
        "simulation, docs/methods.md",
    ),
    setting(
        "estimate.fewest_for_means",
        "60",
        "fewest counts at which errors of zones and blocks are taken as computed",
        "simulation, docs/simulation.md",
    ),
    setting(
        "estimate.widening_of_means",
        "1.15",
        "with fewer counts these errors are multiplied by this",
        "simulation, docs/simulation.md",
    ),
    setting(
        "estimate.fewest_for_anisotropy",
        "100",
        "fewest counts from which ranges along and across the rows may differ",
        "docs/methods.md",
    ),
    setting(
        "estimate.least_trend_gain",
        "0.03",
        "share by which leave-one-out errors must fall before a raster is used",
        JUDGEMENT,
    ),
    setting(
        "estimate.most_at_once",
        "300",
        "most counts solved at once; beyond, the nearest neighbours",
        "docs/methods.md",
    ),
    setting("estimate.neighbours", "32", "neighbours used beyond that", "docs/methods.md"),
    setting(
        "estimate.most_nugget_share",
        "0.95",
        "nugget share above which there is no spatial pattern",
        JUDGEMENT,
    ),
    setting(
        "estimate.observer_share",
        "0.03",
        "standard deviation of an observer's count, as a share of it",
        JUDGEMENT,
    ),
    setting(
        "estimate.far_share_told",
        "0.05",
        "corners far from every count are told from this share of the vines estimated",
        JUDGEMENT,
    ),
    setting(
        "estimate.family",
        "\"exponential\"",
        "shape of the covariance: exponential or spherical",
        "docs/methods.md",
    ),
    setting(
        "zones.most",
        "6",
        "most zones in a planting",
        "2 to 3, at most 4 to 5 in use: general practice, from memory",
    ),
    setting(
        "zones.smallest_share",
        "0.05",
        "no zone is smaller than this share of the block",
        JUDGEMENT,
    ),
    setting(
        "zones.standard_errors",
        "2",
        "neighbouring zones differ by more than so many standard errors",
        "calibrated by simulation, docs/methods.md",
    ),
    setting(
        "zones.least_held_out",
        "0.05",
        "least share of held-out variance that one more zone explains",
        "calibrated by simulation, docs/methods.md",
    ),
    setting(
        "zones.standard_errors_of_fall",
        "1.8",
        "held-out squared errors fall by more than so many standard errors of their fall",
        "calibrated by simulation, docs/methods.md",
    ),
    setting(
        "zones.border_cost",
        "2",
        "cost of a border as long as counts lie apart, in log-likelihood",
        "our judgement; what it does was measured, docs/methods.md",
    ),
    setting("zones.whole_rows", "false", "zones are whole rows, side by side", JUDGEMENT),
    setting(
        "plan.vinifera",
        "\"3-5 per ft\"",
        "shoots to leave per length of curtain, vinifera",
        "Purdue University Extension, Facts for Fancy Fruit, shoot thinning",
    ),
    setting(
        "plan.hybrid",
        "\"4-6 per ft\"",
        "shoots to leave per length of curtain, hybrids",
        "Purdue University Extension, Facts for Fancy Fruit, shoot thinning",
    ),
    setting("plan.unsaid", "\"3-5 per ft\"", "shoots to leave where no type is given", PRACTICE),
    setting(
        "plan.weak_below",
        "0.3",
        "pruning weight at and below which a vine is weak, kg per m of canopy",
        "0.2 lb/ft: Wolf (ed.) 2008, NRAES-145, from memory",
    ),
    setting(
        "plan.excess_above",
        "0.6",
        "pruning weight above which it is in excess, kg per m of canopy",
        "0.4 lb/ft: Wolf (ed.) 2008, NRAES-145, from memory",
    ),
    setting(
        "plan.most_vigor_shift",
        "\"0.5 per ft\"",
        "how far a relative measure of vigor moves the aim",
        JUDGEMENT,
    ),
    setting(
        "plan.vigor_band_share",
        "0.15",
        "a relative measure is below or above when so far off its mean",
        JUDGEMENT,
    ),
    setting("plan.margin", "\"0.5 per ft\"", "margin of a verdict", JUDGEMENT),
    setting(
        "plan.sure",
        "0.9",
        "probability that makes a zone overcrowded or under-target",
        JUDGEMENT,
    ),
    setting("plan.sure_on_target", "0.8", "probability that makes a zone on-target", JUDGEMENT),
    setting(
        "plan.renewal_shoots",
        "1",
        "renewal shoots left on a vine, not counted against the target",
        PRACTICE,
    ),
    setting(
        "plan.minutes_per_vine",
        "0.4",
        "minutes to walk to a vine and look",
        "an assumption; 20 h/acre at 807 vines is 1.5 min a vine in all, from memory",
    ),
    setting(
        "plan.minutes_per_shoot",
        "0.06",
        "minutes a shoot taken off",
        "an assumption; see minutes_per_vine",
    ),
    setting(
        "plan.labour_factor",
        "2.5",
        "assumed hours may be off by this factor either way",
        "workers differ four- to eightfold: report of a California study",
    ),
    setting(
        "plan.slower_past",
        "10 in",
        "shoot length past which shears are needed",
        "University of Missouri Extension WG3002, 2011",
    ),
    setting("plan.slower_factor", "1.5", "how many times slower work is past that", JUDGEMENT),
    setting(
        "plan.opens_at",
        "4 in",
        "shoot length at which the window opens",
        "University of Georgia Extension 2019; University of Missouri WG3002",
    ),
    setting(
        "plan.closes_at",
        "12 in",
        "shoot length at which it closes",
        "Purdue University Extension; University of Georgia Extension 2019",
    ),
    setting(
        "plan.slowest_growth",
        "0.3 in",
        "slowest growth of a shoot, a day",
        "0.8 cm a day: Wisconsin Fruit, scouting reports of May 2024",
    ),
    setting(
        "plan.fastest_growth",
        "1 in",
        "fastest growth of a shoot, a day",
        "University of Georgia Extension 2019: 4.5 to 14 in within 10 days",
    ),
    setting("plan.hours_per_day", "8", "hours of work a day", PRACTICE),
    setting("plan.young_years", "3", "years of a vine's life without a thinning target", PRACTICE),
    setting("plan.draws", "500", "random draws for the intervals of totals", JUDGEMENT),
    setting(
        "prune.vinifera",
        "20+20",
        "nodes for the first pound of prunings + for each pound more, vinifera",
        "eastern extension bulletins, from memory; 20+20 in a Finger Lakes winery's column, 2021",
    ),
    setting(
        "prune.hybrid",
        "20+10",
        "the same for hybrids",
        "eastern extension bulletins (French hybrids), from memory",
    ),
    setting(
        "prune.native",
        "",
        "the same for natives; none unless you give it",
        "bulletins differ by cultivar, 20+10 to 40+10 (Concord 30+10), from memory",
    ),
    setting(
        "prune.most_nodes",
        "50",
        "most nodes on a vine",
        "40 to 50 for hybrids: extension bulletins, from memory; for others our judgement",
    ),
    setting("prune.fewest_nodes", "10", "fewest nodes on a vine", JUDGEMENT),
    setting(
        "prune.under_a_pound",
        "first",
        "prunings under a pound get the first pound's nodes: first, or a share of them: pro-rata",
        "bulletins differ, from memory",
    ),
    setting(
        "prune.bud_rule",
        "cornell",
        "nodes where buds died: cornell, purdue, michigan or survival",
        "Cornell University, Northern New York Grape Update, 28 February 2014",
    ),
    setting(
        "prune.fewest_buds",
        "50",
        "fewer buds looked at in a planting are told",
        "50 to 100 buds per block: Cornell Grape Update 2014; University of Maryland Extension",
    ),
    setting("prune.nodes_per_spur", "2", "nodes of a spur", PRACTICE),
];
