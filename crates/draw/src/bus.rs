//! A bus on paper: its plan, with the size and length of every run, and its drop chart, volts against length.
//!
//! The plan shows what is joined to what, not where it lies in the room: the path on the top row, each branch on a row of its
//! own below the place that it leaves, a ring closed underneath. The chart has a line for what is always drawn and one for
//! what moves drawn at each place in turn, told apart by their marks, and the least volts that are allowed.

use crate::fonts::Fonts;
use crate::pen::{Pen, Type};
use crate::scene::{Area, Layer, Mark, Scene, Shape, Tag, Xy};
use crate::sheet::{
    BUS_CHART_SIZE, BUS_LETTER_HEIGHT, BUS_MARGIN, BUS_PLACES_IN_ROW, BUS_ROW_PITCH, BUS_WIDTH, HAIR_WIDTH,
    Ink, MM, Um,
};
use description::BusShape;
use measure::{Length, Units};
use plan::model::Plan;
use plan::model::power::{BusPoint, PlannedBus};

/// Width of a bus on its plan.
const BUS_STROKE: Um = 1_200;
/// Width of a line of the chart.
const CURVE: Um = 600;
/// Size of a mark.
const MARK: Um = 2_600;

/// The plan of a bus: places, runs with conductor and length, supplies.
pub fn bus_plan(plan: &Plan, planned: &PlannedBus) -> Scene {
    let bus = &plan.network.buses[planned.bus];
    let units = plan.network.described.layout.units;
    let at = places(planned, bus.shape);
    let fonts = Fonts::read();
    let rows = at.iter().map(|&(_, row)| row).max().unwrap_or(0) + 1;
    let rows = Um::try_from(rows).unwrap_or(1);
    let height = 2 * BUS_MARGIN + rows * BUS_ROW_PITCH + 6 * MM;
    let title = format!("Plan of bus {}", bus.name);
    let mut pen = Pen::on(&fonts, title, (BUS_WIDTH, height));
    let columns = at.iter().map(|&(column, _)| column).max().unwrap_or(0).max(1);
    let pitch = (BUS_WIDTH - 2 * BUS_MARGIN - 24 * MM) / Um::try_from(columns).unwrap_or(1);
    let xy = |point: usize| {
        let (column, row) = at[point];
        let x = BUS_MARGIN + 12 * MM + Um::try_from(column).unwrap_or(0) * pitch;
        Xy::new(x, BUS_MARGIN + 12 * MM + Um::try_from(row).unwrap_or(0) * BUS_ROW_PITCH)
    };
    for run in &planned.runs {
        let (from, to) = (xy(run.from), xy(run.to));
        let bends = from.y != to.y && from.x != to.x;
        let path = if bends { vec![from, Xy::new(from.x, to.y), to] } else { vec![from, to] };
        pen.stroke(&path, BUS_STROKE, Layer::Track, Ink::Ink, "bus");
        let level = if bends { [Xy::new(from.x, to.y), to] } else { [from, to] };
        let middle = Xy::new(i64::midpoint(level[0].x, level[1].x), i64::midpoint(level[0].y, level[1].y));
        let upright = level[0].x == level[1].x;
        let (size, length) = (run.conductor.value.to_string(), run.length.print(units));
        let look =
            if upright { Type::plain(BUS_LETTER_HEIGHT) } else { Type::plain(BUS_LETTER_HEIGHT).middle() };
        let shift = if upright { 2 * MM } else { 0 };
        let first = Xy::new(middle.x + shift, middle.y - if upright { MM } else { 2_400 });
        let second = Xy::new(middle.x + shift, middle.y + if upright { 3 * MM } else { 4_600 });
        pen.write(
            &size,
            first,
            pitch - MM,
            Type { weight: crate::scene::Weight::SemiBold, ..look },
            Tag::class("size"),
        );
        pen.write(&length, second, pitch - MM, look.quiet(), Tag::class("length"));
    }
    for (point, place) in planned.points.iter().enumerate() {
        let middle = xy(point);
        mark(&mut pen, Shape::Round, middle, MARK, Ink::Ink);
        let name = Xy::new(middle.x, middle.y + 8_600);
        pen.write(
            &place.place,
            name,
            pitch - MM,
            Type::bold(BUS_LETTER_HEIGHT).middle(),
            Tag::class("place"),
        );
    }
    for supply in &planned.supplies {
        let middle = xy(supply.at);
        let top = Xy::new(middle.x, middle.y - 6 * MM);
        pen.stroke(&[top, middle], BUS_STROKE, Layer::Track, Ink::Ink, "supply");
        mark(&mut pen, Shape::Ring, top, 5 * MM, Ink::Ink);
        let trip = supply.trip_amps.map_or_else(String::new, |trip| format!(", opens at {trip} A"));
        let text = format!("{:.1} V{trip}", supply.volts);
        let right = middle.x > BUS_WIDTH / 2;
        let look =
            if right { Type::plain(BUS_LETTER_HEIGHT).right() } else { Type::plain(BUS_LETTER_HEIGHT) };
        let x = if right { top.x - 4 * MM } else { top.x + 4 * MM };
        pen.write(&text, Xy::new(x, top.y + 700), BUS_WIDTH / 2, look, Tag::class("supply"));
    }
    pen.scene
}

fn mark(pen: &mut Pen<'_>, shape: Shape, at: Xy, size: Um, ink: Ink) {
    pen.scene.marks.push(Mark {
        shape,
        at,
        size,
        ink,
        layer: Layer::Mark,
        hidden: false,
        tag: Tag::class("point"),
    });
}

/// A column and a row for each point.
fn places(planned: &PlannedBus, shape: BusShape) -> Vec<(usize, usize)> {
    let count = planned.points.len();
    // The path: points in the order in which runs go on from one to the next.
    let mut path = vec![0];
    let mut next_run = 0;
    while let Some(run) =
        planned.runs.get(next_run).filter(|run| Some(&run.from) == path.last() && run.to != 0)
    {
        path.push(run.to);
        next_run += 1;
    }
    let mut at = vec![(0, 0); count];
    let ring = shape == BusShape::Ring;
    // A ring goes out on the top row and home on the one below; a long path goes on below, turning back.
    let in_row = if ring { path.len().div_ceil(2) } else { BUS_PLACES_IN_ROW };
    let mut row_count = 1;
    for (place, &point) in path.iter().enumerate() {
        let (row, along) = (place / in_row, place % in_row);
        let column = if row % 2 == 0 { along } else { in_row - 1 - along };
        at[point] = (column, row);
        row_count = row_count.max(row + 1);
    }
    // Branches, each on a row of its own, to the right of where they leave.
    let mut last_to = usize::MAX;
    for run in &planned.runs[next_run + usize::from(ring && next_run < planned.runs.len())..] {
        if run.from != last_to {
            row_count += 1;
        }
        let column = at[run.from].0 + 1;
        at[run.to] = (column.min(BUS_PLACES_IN_ROW), row_count - 1);
        last_to = run.to;
    }
    at
}

/// The drop chart of a bus; none where it has no steady state.
pub fn drop_chart(plan: &Plan, planned: &PlannedBus) -> Option<Scene> {
    let bus = &plan.network.buses[planned.bus];
    let worst = planned.worst.as_ref()?.value;
    let full = planned.supplies.iter().fold(0.0_f64, |most, supply| most.max(supply.volts));
    let allowed = full * (1.0 - planned.drop_limit.value);
    let fonts = Fonts::read();
    let mut pen = Pen::on(&fonts, format!("Drop along bus {}", bus.name), BUS_CHART_SIZE);
    let metres = metres(planned);
    let far = metres.iter().copied().fold(0.0_f64, f64::max).max(0.1);
    let lowest = worst.volts.min(allowed);
    let (step, bottom) = {
        let step = round_step((full - lowest) / 5.0);
        (step, (lowest / step - 0.2).floor() * step)
    };
    let axes = Axes { far, bottom, top: full, units: plan.network.described.layout.units };
    axes.draw(&mut pen, step);
    let lines: [(Shape, Ink, Level); 2] = [
        (Shape::Round, Ink::Normal, |point| point.held_volts),
        (Shape::Diamond, Ink::Reverse, |point| point.volts),
    ];
    let moves = planned.points.iter().any(|point| point.volts < point.held_volts);
    for (shape, ink, level) in lines.into_iter().take(if moves { 2 } else { 1 }) {
        for run in &planned.runs {
            let ends = [run.from, run.to].map(|at| Some(axes.xy(metres[at], level(&planned.points[at])?)));
            if let [Some(from), Some(to)] = ends {
                pen.stroke(&[from, to], CURVE, Layer::Track, ink, "curve");
            }
        }
        for (point, metres) in planned.points.iter().zip(&metres) {
            if let Some(volts) = level(point) {
                mark(&mut pen, shape, axes.xy(*metres, volts), MARK, ink);
            }
        }
    }
    let names = planned.points.iter().zip(&metres);
    for (point, &metres) in names {
        let at = Xy::new(axes.xy(metres, full).x, chart_area().top - 2 * MM);
        let look = Type::plain(BUS_LETTER_HEIGHT).middle();
        pen.write(&point.place, at, 30 * MM, look, Tag::class("place"));
    }
    axes.limit(&mut pen, allowed);
    Some(pen.scene)
}

/// Which volts of a point a line shows.
type Level = fn(&BusPoint) -> Option<f64>;

/// Metres from the first supply to each point, along the bus.
fn metres(planned: &PlannedBus) -> Vec<f64> {
    let mut metres = vec![f64::INFINITY; planned.points.len()];
    if let Some(supply) = planned.supplies.first() {
        metres[supply.at] = 0.0;
    }
    for _ in &planned.runs {
        for run in &planned.runs {
            let length = run.length.value();
            metres[run.to] = metres[run.to].min(metres[run.from] + length);
            metres[run.from] = metres[run.from].min(metres[run.to] + length);
        }
    }
    metres
}

/// One, two or five times a power of ten, at least this much.
fn round_step(least: f64) -> f64 {
    let mut decade = 1e-3;
    while decade * 10.0 < least {
        decade *= 10.0;
    }
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * decade)
        .find(|step| *step >= least)
        .unwrap_or(decade * 10.0)
}

/// Where the lines of a chart are.
fn chart_area() -> Area {
    let (width, height) = BUS_CHART_SIZE;
    Area { left: 18 * MM, top: 10 * MM, right: width - 10 * MM, bottom: height - 13 * MM }
}

/// The frame of a chart: length to the right, volts up.
struct Axes {
    far: f64,
    bottom: f64,
    top: f64,
    units: Units,
}

impl Axes {
    fn xy(&self, metres: f64, volts: f64) -> Xy {
        let area = chart_area();
        let across = share(area.right - area.left, metres / self.far);
        let up = share(area.bottom - area.top, (volts - self.bottom) / (self.top - self.bottom));
        Xy::new(area.left + across, area.bottom - up)
    }

    fn draw(&self, pen: &mut Pen<'_>, step: f64) {
        let area = chart_area();
        let mut volts = self.bottom;
        while volts <= self.top + step * 1e-6 {
            let y = self.xy(0.0, volts).y;
            pen.stroke(
                &[Xy::new(area.left, y), Xy::new(area.right, y)],
                HAIR_WIDTH,
                Layer::Frame,
                Ink::Faint,
                "grid",
            );
            let digits = if step < 0.1 { 2 } else { usize::from(step < 1.0) };
            let look = Type::plain(BUS_LETTER_HEIGHT).right();
            let at = Xy::new(area.left - 2 * MM, y + BUS_LETTER_HEIGHT / 2);
            pen.write(&format!("{volts:.digits$}"), at, 14 * MM, look, Tag::class("tick"));
            volts += step;
        }
        let (metre, unit) = match self.units {
            Units::Metric => (1.0, "m"),
            Units::Imperial => (Length::new(0.3048).value(), "ft"),
        };
        let step = round_step(self.far / metre / 8.0).max(1.0);
        let mut along = 0.0;
        while along * metre <= self.far * 1.000_001 {
            let x = self.xy(along * metre, self.bottom).x;
            let foot = Xy::new(x, area.bottom);
            pen.stroke(
                &[foot, Xy::new(x, area.bottom + 1_500)],
                HAIR_WIDTH,
                Layer::Frame,
                Ink::Quiet,
                "tick",
            );
            let at = Xy::new(x, area.bottom + 5 * MM);
            let look = Type::plain(BUS_LETTER_HEIGHT).middle();
            pen.write(&format!("{along:.0}"), at, 14 * MM, look, Tag::class("tick"));
            along += step;
        }
        let corner = Xy::new(area.left, area.bottom);
        pen.stroke(
            &[Xy::new(area.left, area.top), corner, Xy::new(area.right, area.bottom)],
            HAIR_WIDTH * 2,
            Layer::Frame,
            Ink::Quiet,
            "axis",
        );
        let look = Type::plain(BUS_LETTER_HEIGHT).quiet();
        pen.write("volts", Xy::new(BUS_MARGIN, area.top - 2 * MM), 16 * MM, look, Tag::class("axis-name"));
        let along = format!("{unit} of bus from the supply, slack included");
        pen.write(
            &along,
            Xy::new(area.right, area.bottom + 10 * MM),
            90 * MM,
            look.right(),
            Tag::class("axis-name"),
        );
    }

    fn limit(&self, pen: &mut Pen<'_>, allowed: f64) {
        let area = chart_area();
        let y = self.xy(0.0, allowed).y;
        pen.stroke(
            &[Xy::new(area.left, y), Xy::new(area.right, y)],
            HAIR_WIDTH * 2,
            Layer::Leader,
            Ink::Fault,
            "limit",
        );
        if let Some(stroke) = pen.scene.strokes.last_mut() {
            stroke.dashed = true;
        }
        let at = Xy::new(area.left + 2 * MM, y - MM);
        let look = Type { ink: Ink::Fault, ..Type::plain(BUS_LETTER_HEIGHT) };
        pen.write(&format!("least allowed: {allowed:.2} V"), at, 60 * MM, look, Tag::class("limit"));
    }
}

/// A share of a length; what is no number is nothing.
#[expect(clippy::cast_possible_truncation, reason = "shares are kept within a few times the sheet")]
#[expect(clippy::cast_precision_loss, reason = "micrometres of a sheet of paper are far below 2^52")]
fn share(length: Um, share: f64) -> Um {
    if share.is_finite() { (length as f64 * share.clamp(-2.0, 3.0)).round() as Um } else { 0 }
}
