//! What the tags of a GeoTIFF say of its numbers: grid, unit, scale, and the value that stands for
//! none.

use geotiff_reader::{GeoTiffFile, crs::ModelType};

use crate::{
    finding::{Finding, Place},
    geodesy::GridTransform,
    grid::{Affine, Georeference, Lies},
};

/// Degrees on WGS84, or on a datum within two metres of it: ETRS89, NAD83 (also of 2011, and
/// CSRS), GDA94, GDA2020, NZGD2000, SIRGAS 2000, RGF93, JGD2011.
const DEGREES: &[u16] = &[4326, 4979, 4258, 4269, 6318, 4617, 4283, 7844, 4167, 4674, 4171, 6668];
/// `GDAL_METADATA`, an XML text with scale, offset and unit of each band.
const METADATA: u16 = 42112;
const NEW_SUBFILE_TYPE: u16 = 254;
const IS_MASK: u64 = 4;
/// Metres in an international and in a US survey foot.
const FOOT_M: f64 = 0.3048;
const US_SURVEY_FOOT_M: f64 = 1200.0 / 3937.0;
const TO_A_KNOWN_GRID: &str = "gdalwarp -t_srs EPSG:4326 -r bilinear in.tif out.tif";

/// How heights follow from the numbers of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Heights {
    /// The number that stands for none.
    pub(super) none: Option<f64>,
    /// height = number × scale + offset, in the file's unit.
    pub(super) scale: f64,
    /// See `scale`.
    pub(super) offset: f64,
    /// Metres in the file's unit.
    pub(super) unit_m: f64,
    /// The file says its unit.
    pub(super) unit_is_said: bool,
    /// It says one unit, and names a vertical system that counts in another.
    pub(super) unit_is_doubted: bool,
}

impl Heights {
    /// As the tags say.
    pub(super) fn of(file: &GeoTiffFile) -> Self {
        let layout = file.tiff().ifd(file.base_ifd_index());
        let metadata = layout.ok().and_then(|ifd| ifd.tag(METADATA)).and_then(|t| t.value.as_str());
        let item = |role: &str| metadata.and_then(|xml| item(xml, role));
        let number = |role: &str| item(role).and_then(|text| text.parse::<f64>().ok());
        let vertical = file.crs().vertical();
        let (of_keys, unit_is_doubted) =
            vertical.map_or((None, false), |vertical| unit_of_keys(vertical.units, vertical.epsg));
        let unit = of_keys.or_else(|| item("unittype").and_then(|text| in_metres(&text)));
        Self {
            none: file.nodata().and_then(|text| text.trim_matches(['\0', ' ']).parse().ok()),
            scale: number("scale").filter(|scale| scale.is_finite()).unwrap_or(1.0),
            offset: number("offset").filter(|offset| offset.is_finite()).unwrap_or(0.0),
            unit_m: unit.unwrap_or(1.0),
            unit_is_said: unit.is_some(),
            unit_is_doubted,
        }
    }

    /// The height of a number of the file, metres; `None` for the one that stands for none.
    pub(super) fn height_m(&self, number: f64) -> Option<f64> {
        self.value(number).map(|value| value * self.unit_m)
    }

    /// The value of a number of the file, in the file's unit; `None` for the one that stands for
    /// none.
    pub(super) fn value(&self, number: f64) -> Option<f64> {
        // A value written as text may be a rounding away from the one of 32 bits.
        let is_none = |none: f64| (number - none).abs() <= none.abs() * 1e-6;
        let value = number * self.scale + self.offset;
        (value.is_finite() && !self.none.is_some_and(is_none)).then_some(value)
    }
}

/// True when the file hides heights behind a mask of its own.
pub(super) fn has_mask(file: &GeoTiffFile) -> bool {
    file.tiff().ifds().iter().any(|ifd| {
        let kind = ifd.tag(NEW_SUBFILE_TYPE).and_then(|tag| tag.value.as_u64());
        kind.is_some_and(|kind| kind & IS_MASK != 0)
    })
}

/// Where the cells lie.
///
/// # Errors
/// Without a georeference, or in a grid that no register names.
pub(super) fn georeference(file: &GeoTiffFile, place: &Place) -> Result<Georeference, Finding> {
    let fault = |what: &str| Finding::fault(place.clone(), what);
    let transform = file.transform().ok_or_else(|| {
        fault("the file does not say where its cells lie")
            .because("neither a corner and a cell size nor a matrix is in it")
            .mend("export it with its georeference: gdal_translate -a_srs EPSG:n -a_ullr … in.tif")
    })?;
    let affine = Affine {
        origin_x: transform.origin_x,
        column_x: transform.pixel_width,
        row_x: transform.skew_x,
        origin_y: transform.origin_y,
        column_y: transform.skew_y,
        row_y: transform.pixel_height,
    };
    if affine.cell(affine.place([1.0, 1.0])).is_none() {
        return Err(fault("its cells have no extent").mend("export it again, georeferenced"));
    }
    Ok(Georeference { affine, lies: lies(file, place)? })
}

fn lies(file: &GeoTiffFile, place: &Place) -> Result<Lies, Finding> {
    let crs = file.crs();
    let registered = |code: Option<u16>| code.filter(|code| !matches!(code, 0 | 32767));
    let fault = |what: String| Finding::fault(place.clone(), what);
    if let Some(code) = registered(crs.projected_epsg()) {
        let named = format!("EPSG:{code}");
        let grid = GridTransform::new(&named).map_err(|error| {
            error.at(place.clone()).mend(format!("bring it to a known grid: {TO_A_KNOWN_GRID}"))
        })?;
        return Ok(Lies::Projected(grid));
    }
    match (crs.model_type_enum(), registered(crs.geodetic_epsg())) {
        (ModelType::Geographic, Some(code)) if DEGREES.contains(&code) => Ok(Lies::Degrees),
        (ModelType::Geographic, Some(code)) => {
            Err(fault(format!("its degrees are of EPSG:{code}, not of WGS84"))
                .because("another datum may lie hundreds of metres off")
                .mend(format!("convert it: {TO_A_KNOWN_GRID}")))
        }
        (ModelType::Projected | ModelType::Geographic, _) => {
            Err(fault("its grid is one of its own, without an EPSG code".to_owned())
                .because("only grids of the EPSG register are read")
                .mend(format!("convert it: {TO_A_KNOWN_GRID}")))
        }
        (ModelType::Geocentric | ModelType::Unknown(_), _) => {
            Err(fault("the file does not say in which grid its cells lie".to_owned())
                .mend("if you know the grid, say it: gdal_translate -a_srs EPSG:n in.tif out.tif"))
        }
    }
}

/// Metres in the unit of heights as the keys say, and whether they contradict each other: the unit
/// itself, else that of the vertical system (NAVD88 and NGVD29 in metres and feet).
fn unit_of_keys(unit: Option<u16>, system: Option<u16>) -> (Option<f64>, bool) {
    let stated = unit.and_then(|code| match code {
        9001 => Some(1.0),
        9002 => Some(FOOT_M),
        9003 => Some(US_SURVEY_FOOT_M),
        _ => None,
    });
    let usual = system.and_then(|code| match code {
        5703 | 7968 => Some(1.0),
        8228 => Some(FOOT_M),
        6360 | 5702 => Some(US_SURVEY_FOOT_M),
        _ => None,
    });
    let differ = stated.zip(usual).is_some_and(|(stated, usual)| (stated - usual).abs() > 1e-9);
    (stated.or(usual), differ)
}

fn in_metres(unit: &str) -> Option<f64> {
    match unit.trim().to_lowercase().as_str() {
        "m" | "metre" | "meter" | "metres" | "meters" => Some(1.0),
        "ft" | "foot" | "feet" | "international foot" => Some(FOOT_M),
        "us survey foot" | "us_survey_foot" | "us-ft" | "ftus" | "us_ft" | "foot_us" => {
            Some(US_SURVEY_FOOT_M)
        }
        "cm" | "centimetre" | "centimeter" => Some(0.01),
        "dm" | "decimetre" | "decimeter" => Some(0.1),
        _ => None,
    }
}

/// The text of the first band's item of this role.
fn item(xml: &str, role: &str) -> Option<String> {
    let marked = xml.split("<Item").skip(1).find(|item| {
        let head = item.split('>').next().unwrap_or_default();
        let other = head.contains("sample=\"") && !head.contains("sample=\"0\"");
        head.contains(&format!("role=\"{role}\"")) && !other
    })?;
    let text = marked.split_once('>')?.1.split("</Item").next()?;
    Some(text.trim().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn items_of_the_metadata_are_found_by_their_role() {
        let xml = r#"<GDALMetadata>
  <Item name="OFFSET" sample="0" role="offset">100</Item>
  <Item name="SCALE" sample="1" role="scale">7</Item>
  <Item name="SCALE" sample="0" role="scale">0.01</Item>
  <Item name="AREA_OR_POINT">Area</Item></GDALMetadata>"#;
        assert_eq!(item(xml, "scale").as_deref(), Some("0.01"));
        assert_eq!(item(xml, "offset").as_deref(), Some("100"));
        assert_eq!(item(xml, "unittype"), None);
        assert_eq!(item("<Item role=\"scale\"", "scale"), None);
    }

    #[test]
    fn the_stated_unit_comes_before_that_of_the_vertical_system() {
        // EPSG register: 9001 metre, 9002 foot, 9003 US survey foot; NAVD88 is 5703 in metres, 8228
        // in feet, 6360 in US survey feet.
        assert_eq!(unit_of_keys(Some(9002), Some(5703)), (Some(FOOT_M), true));
        assert_eq!(unit_of_keys(Some(9003), Some(7968)), (Some(US_SURVEY_FOOT_M), true));
        assert_eq!(unit_of_keys(Some(9001), Some(6360)), (Some(1.0), true));
        assert_eq!(unit_of_keys(Some(9003), Some(8228)), (Some(US_SURVEY_FOOT_M), true));
        assert_eq!(unit_of_keys(Some(9003), Some(6360)), (Some(US_SURVEY_FOOT_M), false));
        assert_eq!(unit_of_keys(None, Some(8228)), (Some(FOOT_M), false));
        assert_eq!(unit_of_keys(Some(9002), None), (Some(FOOT_M), false));
        assert_eq!(unit_of_keys(Some(9005), None), (None, false));
    }

    #[test]
    fn the_number_for_none_is_met_in_whatever_rounding() {
        let heights = Heights {
            none: Some(-3.402_823_466_385_29e38),
            scale: 1.0,
            offset: 0.0,
            unit_m: 1.0,
            unit_is_said: false,
            unit_is_doubted: false,
        };
        assert_eq!(heights.height_m(f64::from(f32::MIN)), None);
        assert_eq!(heights.height_m(12.5), Some(12.5));
        assert_eq!(Heights { none: Some(0.0), ..heights }.height_m(0.0), None);
        assert_eq!(heights.height_m(f64::NAN), None);
        let feet = Heights { scale: 0.1, offset: 10.0, unit_m: FOOT_M, ..heights };
        assert_eq!(feet.height_m(900.0), Some(100.0 * 0.3048));
    }
}
