//! A bus on paper: its plan, with the size and length of every run, and its drop chart, volts against length.
//!
//! The plan shows what is joined to what, not where it lies in the room: the path on the top row, each branch on a row of its
//! own below the place that it leaves, a ring closed underneath. The chart has a line for what is always drawn and one for
//! what moves drawn at each place in turn, told apart by their marks, and the least volts that are allowed.

use crate::fonts::Fonts;
use crate::pen::{Pen, Type};
use crate::scene::{Area, Layer, Mark, Scene, Shape, Tag, Weight, Xy};
use crate::sheet::{
    BUS_CHART_SIZE, BUS_LETTER_HEIGHT, BUS_MARGIN, BUS_PLACES_IN_ROW, BUS_ROW_PITCH, BUS_WIDTH, HAIR_WIDTH,
    Ink, MM, Um,
};
use description::BusShape;
use measure::{Length, Units};
use plan::model::Plan;
use plan::model::power::{BusLength, BusPoint, PlannedBus};

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
    let height = 2 * BUS_MARGIN + rows * BUS_ROW_PITCH + 7 * MM;
    let title = format!("Plan of bus {}", bus.name);
    let mut pen = Pen::on(&fonts, title, (BUS_WIDTH, height));
    let columns = at.iter().map(|&(column, _)| column).max().unwrap_or(0).max(1);
    let pitch = (BUS_WIDTH - 2 * BUS_MARGIN - 24 * MM) / Um::try_from(columns).unwrap_or(1);
    let xy = |point: usize| {
        let (column, row) = at[point];
        let x = BUS_MARGIN + 12 * MM + Um::try_from(column).unwrap_or(0) * pitch;
        Xy::new(x, BUS_MARGIN + 16 * MM + Um::try_from(row).unwrap_or(0) * BUS_ROW_PITCH)
    };
    let mut leads_down = vec![false; at.len()];
    for run in &planned.runs {
        let (from, to) = (xy(run.from), xy(run.to));
        if from.y != to.y {
            leads_down[if from.y < to.y { run.from } else { run.to }] = true;
        }
        let words = [run.conductor.value.to_string(), run.length.print(units)];
        draw_run(&mut pen, [from, to], &words, pitch);
    }
    for (point, place) in planned.points.iter().enumerate() {
        let middle = xy(point);
        mark(&mut pen, Shape::Round, middle, MARK, Ink::Ink);
        let supplied = planned.supplies.iter().any(|supply| supply.at == point);
        let look = Type::bold(BUS_LETTER_HEIGHT);
        // Below the point, unless the bus goes on there; a supply stands above it.
        let (name, most, look) = match (leads_down[point], supplied) {
            (false, _) => (Xy::new(middle.x, middle.y + 8_600), pitch - MM, look.middle()),
            (true, false) => (Xy::new(middle.x, middle.y - 3_600), pitch / 2, look.middle()),
            (true, true) => (Xy::new(middle.x - 2 * MM, middle.y - 3_600), 12 * MM, look.right()),
        };
        pen.write(&place.place, name, most, look, Tag::class("place"));
    }
    for supply in &planned.supplies {
        let middle = xy(supply.at);
        let top = Xy::new(middle.x, middle.y - 11 * MM);
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

/// A run: level, or down from its upper end and then level, with its size above and its length below.
fn draw_run(pen: &mut Pen<'_>, [from, to]: [Xy; 2], [size, length]: &[String; 2], pitch: Um) {
    let (upper, lower) = if from.y <= to.y { (from, to) } else { (to, from) };
    let corner = Xy::new(upper.x, lower.y);
    let path =
        if corner == lower || corner == upper { vec![upper, lower] } else { vec![upper, corner, lower] };
    pen.stroke(&path, BUS_STROKE, Layer::Track, Ink::Ink, "bus");
    let upright = corner == lower;
    let look = Type::plain(BUS_LETTER_HEIGHT);
    let (at, look) = if upright {
        (Xy::new(upper.x + 2 * MM, i64::midpoint(upper.y, lower.y)), look)
    } else {
        (Xy::new(i64::midpoint(corner.x, lower.x), lower.y), look.middle())
    };
    let (above, below) = if upright { (-MM, 3 * MM) } else { (-2_400, 4_600) };
    let bold = Type { weight: Weight::SemiBold, ..look };
    pen.write(size, Xy::new(at.x, at.y + above), pitch - MM, bold, Tag::class("size"));
    pen.write(length, Xy::new(at.x, at.y + below), pitch - MM, look.quiet(), Tag::class("length"));
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
    let ring = shape == BusShape::Ring;
    // A ring goes out on one row and home on another; a long path goes on below, turning back.
    let in_row = if ring { path.len().div_ceil(2) } else { BUS_PLACES_IN_ROW };
    let closing = usize::from(ring && next_run < planned.runs.len());
    let mut branches = branches(&planned.runs[next_run + closing..]);
    let mut at: Vec<Option<(usize, usize)>> = vec![None; count];
    let mut row_count = 0;
    for (row, points) in path.chunks(in_row).enumerate() {
        for (along, &point) in points.iter().enumerate() {
            let column = if row % 2 == 0 { along } else { in_row - 1 - along };
            at[point] = Some((column, row_count));
        }
        row_count += 1;
        // What leaves this row comes before the next, the rightmost first, so that none crosses another on its way down.
        loop {
            let from = |branch: &Vec<usize>| at[branch[0]];
            let Some(next) = (0..branches.len())
                .filter(|&next| from(&branches[next]).is_some())
                .max_by_key(|&next| from(&branches[next]).map(|(column, row)| (column, usize::MAX - row)))
            else {
                break;
            };
            let branch = branches.remove(next);
            let column = at[branch[0]].map_or(0, |(column, _)| column);
            for (along, &point) in branch.iter().enumerate().skip(1) {
                at[point] = Some((column + along, row_count));
            }
            row_count += 1;
        }
    }
    at.into_iter().map(Option::unwrap_or_default).collect()
}

/// Each branch as the points it passes, the one it leaves among them.
fn branches(runs: &[BusLength]) -> Vec<Vec<usize>> {
    let mut branches: Vec<Vec<usize>> = Vec::new();
    for run in runs {
        match branches.last_mut().filter(|branch| branch.last() == Some(&run.from)) {
            Some(branch) => branch.push(run.to),
            None => branches.push(vec![run.from, run.to]),
        }
    }
    branches
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
    name_places(&mut pen, planned, |point| axes.xy(metres[point], full).x);
    axes.limit(&mut pen, allowed, step);
    Some(pen.scene)
}

/// Names above the chart, in two rows where they stand close; one that finds no room is left to the table.
fn name_places(pen: &mut Pen<'_>, planned: &PlannedBus, x_of: impl Fn(usize) -> Um) {
    let mut points: Vec<usize> = (0..planned.points.len()).collect();
    points.sort_by_key(|&point| (x_of(point), point));
    let look = Type::plain(BUS_LETTER_HEIGHT).middle();
    for point in points {
        for foot in [chart_area().top - 2 * MM, chart_area().top - 6 * MM] {
            let at = Xy::new(x_of(point), foot);
            let words = pen.words(&planned.points[point].place, at, 30 * MM, look, Tag::class("place"));
            let room = words.area.grown(MM / 2);
            if pen.scene.sheet().holds(words.area)
                && pen.scene.words.iter().all(|other| !room.overlaps(other.area))
            {
                pen.scene.words.push(words);
                break;
            }
        }
    }
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

    fn limit(&self, pen: &mut Pen<'_>, allowed: f64, step: f64) {
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
        // Above or below the line, whichever is farther from the rules of the grid.
        let apart = |foot: Um| {
            let middle = foot - BUS_LETTER_HEIGHT / 2;
            let mut volts = self.bottom;
            let mut least = Um::MAX;
            while volts <= self.top {
                least = least.min((self.xy(0.0, volts).y - middle).abs());
                volts += step;
            }
            least
        };
        let (above, below) = (y - MM, y + BUS_LETTER_HEIGHT + MM);
        let foot = if apart(above) >= apart(below) { above } else { below };
        let at = Xy::new(area.left + 2 * MM, foot);
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
