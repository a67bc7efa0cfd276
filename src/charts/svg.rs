//! The shapes of a picture, and their text as an SVG element, by plotters.
//!
//! Plotters writes colours as numbers; they become the page's names here. So do dashes, and
//! specks, which are many small dots in one path: their numbers are set off by a constant.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::pen::{COLOURS, Colour, Pen, Side, Type};
use super::place::Place;

/// The drawing could not be made; only when a size makes no sense.
#[derive(Debug, thiserror::Error)]
#[error("a chart could not be drawn: {0}")]
pub struct ChartError(pub String);

/// What a picture is made of.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    Line(Vec<Place>, Pen),
    Specks(Vec<Place>, Pen),
    Area(Vec<Place>, Colour, f64),
    Disc(Place, f64, Colour),
    Text(String, Place, Side, Type),
}

/// Added to a colour's number.
const DASHED: u8 = 0x10;
const SPECKS: u8 = 0x20;

/// What plotters makes of the shapes.
pub(super) fn drawn(shapes: &[Shape], width: f64, height: f64) -> Result<String, ChartError> {
    let mut text = String::new();
    {
        let size = (width.ceil().max(1.0) as u32, height.ceil().max(1.0) as u32);
        let area = SVGBackend::with_string(&mut text, size).into_drawing_area();
        for shape in shapes {
            draw(shape, &area).map_err(|e| ChartError(e.to_string()))?;
        }
        area.present().map_err(|e| ChartError(e.to_string()))?;
    }
    Ok(text)
}

/// The same as an element that scales with its column, with title and description.
pub(super) fn element(drawn: &str, (width, height): (f64, f64), id: &str, title: &str, description: &str) -> String {
    let (width, height, id) = (width.ceil(), height.ceil(), escaped(id));
    let mut svg = format!(
        "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"{id}-title {id}-description\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-description\">{}</desc>\n",
        escaped(title),
        escaped(description),
    );
    for line in drawn.lines().skip(1) {
        svg.push_str(&named(line));
        // The line that opens a text would begin the text with a space.
        if !line.starts_with("<text") {
            svg.push('\n');
        }
    }
    svg.trim_end().to_owned()
}

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
type Drawn<'a> = Result<(), DrawingAreaErrorKind<<SVGBackend<'a> as DrawingBackend>::ErrorType>>;

fn draw<'a>(shape: &Shape, area: &Area<'a>) -> Drawn<'a> {
    match shape {
        Shape::Line(points, pen) => {
            let kind = if pen.is_dashed { DASHED } else { 0 };
            let style = numbered(pen.colour, kind).mix(pen.opacity).stroke_width(pen.width);
            area.draw(&PathElement::new(rounded(points), style))
        }
        Shape::Specks(points, pen) => {
            let style = numbered(pen.colour, SPECKS).mix(pen.opacity).stroke_width(pen.width);
            let mut points = rounded(points);
            points.sort_unstable();
            points.dedup();
            area.draw(&PathElement::new(points, style))
        }
        Shape::Area(points, colour, opacity) => {
            let style = numbered(*colour, 0).mix(*opacity).filled();
            area.draw(&Polygon::new(rounded(points), style))
        }
        Shape::Disc(at, radius, colour) => {
            let radius = radius.round().max(1.0) as u32;
            area.draw(&Circle::new(round(*at), radius, numbered(*colour, 0).filled()))
        }
        Shape::Text(text, place, side, kind) => {
            let weight = if kind.is_bold {
                FontStyle::Bold
            } else {
                FontStyle::Normal
            };
            // Plotters takes the height of a line for the size of a font.
            let mut font = ("sans-serif", kind.size * 1.24, weight).into_font();
            if kind.is_turned {
                font = font.transform(FontTransform::Rotate270);
            }
            let across = match side {
                Side::RightOf => HPos::Left,
                Side::LeftOf => HPos::Right,
                Side::On => HPos::Center,
            };
            let style = font
                .color(&numbered(kind.colour, 0))
                .pos(Pos::new(across, VPos::Center));
            area.draw(&Text::new(text.clone(), round(*place), style))
        }
    }
}

fn round((x, y): Place) -> (i32, i32) {
    (x.round() as i32, y.round() as i32)
}

fn rounded(points: &[Place]) -> Vec<(i32, i32)> {
    points.iter().map(|place| round(*place)).collect()
}

fn numbered(colour: Colour, kind: u8) -> RGBColor {
    let number = COLOURS
        .iter()
        .find(|known| known.0 == colour)
        .map_or(1, |known| known.2);
    RGBColor(number + kind, number + kind, number + kind)
}

/// One element with the page's names for what plotters wrote as numbers.
fn named(line: &str) -> String {
    let mut line = line
        .replace(" opacity=\"1\"", "")
        .replace(" font-family=\"sans-serif\"", "");
    for (_, name, number) in COLOURS {
        let written = |kind: u8| {
            let byte = number + kind;
            format!("\"#{byte:02X}{byte:02X}{byte:02X}\"")
        };
        line = line.replace(&written(0), &format!("\"var(--{name})\""));
        line = line.replace(&written(DASHED), &format!("\"var(--{name})\" stroke-dasharray=\"7 5\""));
        if line.contains(&written(SPECKS)) {
            line = line.replace(
                &written(SPECKS),
                &format!("\"var(--{name})\" stroke-linecap=\"square\""),
            );
            line = as_specks(&line);
        }
    }
    line
}

/// The line through many points as one path that touches each of them.
fn as_specks(polyline: &str) -> String {
    let Some((before, rest)) = polyline.split_once("points=\"") else {
        return polyline.to_owned();
    };
    let places = rest.split('"').next().unwrap_or_default();
    let path: String = places
        .split_whitespace()
        .map(|place| format!("M{}h0", place.replace(',', " ")))
        .collect();
    format!("{}d=\"{path}\"/>", before.replace("<polyline", "<path"))
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
