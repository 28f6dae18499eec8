//! Scene to SVG: the one text that all other forms of a picture are made from.

use std::fmt::Write as _;

use crate::picture::{
    Anchor, Lettering, Mark, Outline, PaperPoint, Scene, Shape, lettering::FAMILY,
};

/// A scene as SVG text, one user unit a millimetre.
pub fn to_svg(scene: &Scene) -> String {
    let [width, height] = scene.paper_mm;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"{FAMILY}\" font-stretch=\"condensed\" \
         role=\"img\">\n<title>{}</title>\n",
        escaped(&scene.title)
    );
    svg.push_str(&elements(&scene.marks));
    svg.push_str("</svg>\n");
    svg
}

/// Marks as elements, from the lowest to the topmost.
pub(super) fn elements(marks: &[Mark]) -> String {
    let element = |mark: &Mark| match mark {
        Mark::Shape(shape) => shape_element(shape),
        Mark::Lettering(lettering) => text_element(lettering),
    };
    marks.iter().map(element).collect()
}

/// Outlines as the data of a path.
pub(super) fn path_data(outlines: &[Outline]) -> String {
    let mut path = String::new();
    for outline in outlines {
        push_outline(&mut path, outline);
    }
    path
}

fn shape_element(shape: &Shape) -> String {
    let path = path_data(&shape.outlines);
    let fill = shape.fill.map_or("none".to_owned(), |colour| colour.to_string());
    let mut element = format!("<path d=\"{path}\" fill=\"{fill}\" fill-rule=\"evenodd\"");
    if let Some(stroke) = shape.stroke {
        let _ = write!(
            element,
            " stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
            stroke.colour,
            rounded(stroke.width_mm)
        );
        if let Some([drawn, left]) = stroke.dash_mm {
            let _ = write!(element, " stroke-dasharray=\"{} {}\"", rounded(drawn), rounded(left));
        }
    }
    element + "/>\n"
}

fn push_outline(path: &mut String, outline: &Outline) {
    match outline {
        Outline::Line(points) => push_points(path, points),
        Outline::Ring(points) => {
            push_points(path, points);
            path.push('Z');
        }
        Outline::Disc { centre, radius_mm } => {
            let start = PaperPoint::new(centre.x_mm - radius_mm, centre.y_mm);
            push_points(path, &[start]);
            let (radius, across) = (rounded(*radius_mm), rounded(2.0 * radius_mm));
            let _ = write!(
                path,
                "a{radius} {radius} 0 1 0 {across} 0a{radius} {radius} 0 1 0 -{across} 0Z"
            );
        }
    }
}

fn push_points(path: &mut String, points: &[PaperPoint]) {
    for (at, point) in points.iter().enumerate() {
        path.push(if at == 0 { 'M' } else { 'L' });
        let _ = write!(path, "{} {}", rounded(point.x_mm), rounded(point.y_mm));
    }
}

fn text_element(lettering: &Lettering) -> String {
    let anchor = match lettering.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let (x, y) = (rounded(lettering.at.x_mm), rounded(lettering.at.y_mm));
    let turn = rounded(lettering.turn.degrees());
    let turned =
        if turn == 0.0 { String::new() } else { format!(" transform=\"rotate({turn} {x} {y})\"") };
    let weight = if lettering.hand.bold { "bold" } else { "normal" };
    format!(
        "<text x=\"{x}\" y=\"{y}\"{turned} font-size=\"{}\" font-weight=\"{weight}\" fill=\"{}\" \
         text-anchor=\"{anchor}\">{}</text>\n",
        rounded(lettering.hand.size_mm),
        lettering.colour,
        escaped(&lettering.words)
    )
}

/// Thousandths of a millimetre: finer than any printer, and the same text wherever it is made.
pub(super) fn rounded(millimetres: f64) -> f64 {
    let thousandths = (millimetres * 1000.0).round() / 1000.0;
    // No minus zero.
    if thousandths == 0.0 { 0.0 } else { thousandths }
}

/// A text that can stand in an element or between the quotes of an attribute.
pub(crate) fn escaped(text: &str) -> String {
    let mut safe = String::new();
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            letter => safe.push(letter),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::{Colour, Hand};

    #[test]
    fn a_name_cannot_leave_its_text() {
        let words = "</text><script>alert('x')</script>&\"".to_owned();
        let hand = Hand { size_mm: 3.0, bold: false };
        let at = PaperPoint::new(10.0, 10.0);
        let colour = Colour::new(0, 0, 0);
        let mark = Mark::Lettering(Lettering::level(at, words, hand, (Anchor::Start, colour)));
        let scene = Scene { paper_mm: [20.0, 20.0], title: "a & b".to_owned(), marks: vec![mark] };
        let svg = to_svg(&scene);
        assert!(!svg.contains("<script"), "{svg}");
        assert!(svg.contains("<title>a &amp; b</title>"), "{svg}");
        assert!(resvg::usvg::roxmltree::Document::parse(&svg).is_ok());
    }
}
