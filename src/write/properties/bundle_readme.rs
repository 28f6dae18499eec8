//! `README.txt` of a bundle: what its receiver holds, where it lies, in which units, and the sums to
//! check it by.

use jiff::civil::Date;

use super::text_page::TextPage;
use crate::write::run_record::sha256;

/// What the sheet is made from.
#[derive(Debug, Clone)]
pub struct BundleSheet<'a> {
    /// The blocks.
    pub blocks: Vec<BundledBlock>,
    /// The files by their path in the archive, with their bytes.
    pub files: &'a [(String, Vec<u8>)],
    /// True when the blocks lie elsewhere than on these maps.
    pub moved: bool,
}

/// A block in a bundle.
#[derive(Debug, Clone)]
pub struct BundledBlock {
    /// Its name.
    pub name: String,
    /// Its folder in the archive.
    pub folder: String,
    /// The date of the counts.
    pub date: Option<Date>,
    /// Places for vines, and records that found their place.
    pub vines_and_records: [usize; 2],
    /// The grid of its rasters.
    pub grid: Option<String>,
}

/// What the files hold, by the end of their names; the first that fits is told.
const WORDS: [(&str, &str); 26] = [
    ("map.html", "the decision, the maps and the tables in one page for any browser, no network"),
    ("map.pdf", "the decision and the maps on paper, to scale: start here"),
    ("crew-sheet.pdf", "what the crew is handed: what to leave, what goes, row by row"),
    ("crew-sheet.csv", "the same panel by panel"),
    ("map.kmz", "the maps for a globe viewer"),
    ("block.gpkg", "all layers for desktop programs (GeoPackage)"),
    ("-overlay.png", "a map as bare pixels; .pgw and .aux.xml say where it lies"),
    (".pgw", "world file of the picture of that name"),
    (".aux.xml", "grid and place of the picture of that name"),
    (".tif", "the numbers behind a map (Cloud-Optimized GeoTIFF)"),
    ("how-sure.pdf", "how good the numbers are, in plain words"),
    ("how-sure.png", "the same as a picture"),
    ("variogram.png", "how alike vines are by their distance"),
    (".png", "a map on one page"),
    ("zones.csv", "every zone with verdict, shoots to take off, hours, days"),
    ("zones.geojson", "the same with their ground"),
    ("panels.geojson", "every panel with its density and its interval"),
    ("vines.geojson", "every vine with its estimate, target and shoots to take off"),
    ("rows.geojson", "every row from post to post"),
    (".fgb", "the layer of that name with an index (FlatGeobuf)"),
    ("thinning.json", "the decision and what it rests on, for programs"),
    ("count-next.csv", "where ten more counts would help most"),
    ("counts-joined.csv", "every count with the place that it found"),
    ("unjoined.csv", "counts that found no place, with the reason"),
    ("run.json", "how this was made: version, options, inputs, sums"),
    ("", "another file"),
];

/// The sheet as the bytes of `README.txt`.
pub fn bundle_readme(sheet: &BundleSheet<'_>) -> Vec<u8> {
    let mut page = TextPage::default();
    page.title("Shoot thinning: maps, tables and what they rest on");
    page.paragraph(
        "An estimate from counts on some vines, not a survey and not a legal boundary. Look at the \
         vines before cutting; local advice goes first. Nothing here speaks of slopes, heat, sprays \
         or where machines can go: judge these on the day, and keep people out of a sprayed block \
         until the posted time has passed.",
    );
    if sheet.moved {
        page.paragraph(MOVED);
    }
    sheet.told_blocks(&mut page);
    sheet.told_coordinates(&mut page);
    sheet.told_files(&mut page);
    page.into_bytes()
}

/// What is said of a bundle whose place is hidden.
const MOVED: &str = "The place of these blocks is hidden. Every coordinate was turned about the axis \
                     of the earth onto another meridian, the same for all blocks: shapes, lengths, \
                     areas, bearings and latitude are true, the longitude is not. Block names end in \
                     \"(place moved)\" in every file that holds one. Files that repeat what was typed \
                     in the field (counts-joined.csv, unjoined.csv, run.json) are left out.";

impl BundleSheet<'_> {
    fn told_blocks(&self, page: &mut TextPage) {
        page.head("Blocks");
        for block in &self.blocks {
            let [vines, records] = block.vines_and_records;
            let date = block.date.map_or_else(|| "no date".to_owned(), |date| date.to_string());
            let words = format!(
                "folder {}; {vines} places for vines, {records} records of the field, {date}",
                block.folder
            );
            page.item(&block.name, &words);
        }
    }

    fn told_coordinates(&self, page: &mut TextPage) {
        page.head("Coordinates and units");
        page.item("GeoJSON, KMZ, GeoPackage", "longitude and latitude on WGS 84 (EPSG:4326)");
        for block in &self.blocks {
            if let Some(grid) = &block.grid {
                page.item("Rasters", &format!("{}: {grid}, metres", block.name));
            }
        }
        page.item("Lengths", "metres; names of columns end in their unit");
        page.item("Densities", "shoots a metre of canopy (1 a foot is 3.28 a metre)");
        page.item("Ranges", "hold nine times in ten (lo90 to hi90)");
        page.item("Dates", "year-month-day");
        page.item("Made by", &format!("catchwire {}", env!("CARGO_PKG_VERSION")));
    }

    fn told_files(&self, page: &mut TextPage) {
        page.head("Files");
        let mut said = Vec::new();
        for (path, _) in self.files {
            let name = path.rsplit('/').next().unwrap_or(path);
            if !said.contains(&name) {
                page.item(name, words(name));
                said.push(name);
            }
        }
        page.head("SHA-256 of every file (check with sha256sum)");
        for (path, bytes) in self.files {
            page.verbatim(&format!("{}  {path}", sha256(bytes)));
        }
    }
}

fn words(name: &str) -> &'static str {
    let fits = WORDS.iter().find(|(end, _)| name.ends_with(end));
    fits.map_or("", |(_, words)| words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_is_named_with_its_sum() {
        let files = [
            ("a/map.pdf".to_owned(), b"one".to_vec()),
            ("a/vigor-overlay.png".to_owned(), Vec::new()),
        ];
        let sheet = BundleSheet { blocks: Vec::new(), files: &files, moved: false };
        let text = String::from_utf8(bundle_readme(&sheet)).unwrap();
        // FIPS 180-4: the sum of nothing.
        let nothing = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
        assert!(text.contains(&format!("{nothing}  a/vigor-overlay.png\n")), "{text}");
        assert!(text.contains("to scale: start") && text.contains("bare pixels"), "{text}");
        assert!(!text.contains("hidden"));
    }
}
