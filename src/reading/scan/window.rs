//! Windows of a scan: shapes, and how finds in them are counted by running sums.

use std::ops::Range;

use super::grid::Padded;

/// A window's shape: nested rings of cells, each as offsets from the middle.
#[derive(Debug, Clone)]
pub(in crate::reading) struct Shape {
    pub(in crate::reading) rings: Vec<Vec<(i32, i32)>>,
}

/// A window as runs of cells along the shore, one or more for each step across: what lies in a run is the
/// difference of two running sums.
pub(in crate::reading) struct Runs {
    pub(in crate::reading) shape: usize,
    pub(in crate::reading) rings: usize,
    /// Steps from the middle to the first cell of the run and to the one after its last.
    pub(in crate::reading) ends: Vec<(isize, isize)>,
}

/// Cells side by side across the shore, from the first with effort to the last.
pub(in crate::reading) struct Row {
    /// Place of the first in the padded grid.
    pub(in crate::reading) from: usize,
    pub(in crate::reading) len: usize,
    /// Where its trials begin: those of each window for all its cells, one window after the other.
    pub(in crate::reading) trials: usize,
}

/// Rows one beside the other, which are looked at together first: what a window covers as it is laid round the cells at one step
/// across of all of them holds at least what it holds round any.
pub(in crate::reading) struct Block {
    pub(in crate::reading) rows: Range<usize>,
    /// Places in the first and the last row of the first step across that any of them has, ...
    pub(in crate::reading) from: usize,
    pub(in crate::reading) to: usize,
    /// ... and how many steps there are.
    pub(in crate::reading) len: usize,
    /// Where its trials begin, as those of a row do.
    pub(in crate::reading) trials: usize,
}

/// So many rows at most.
const BLOCK: usize = 4;

impl Block {
    pub(in crate::reading) fn of(rows: &[Row], width: usize, windows: usize) -> Vec<Self> {
        let (mut blocks, mut begin, mut trials) = (Vec::new(), 0, 0);
        while begin < rows.len() {
            let next_to = |n: &usize| rows[*n].from / width == rows[begin].from / width + (n - begin);
            let end = (begin..rows.len()).take(BLOCK).take_while(next_to).last().map_or(begin, |n| n) + 1;
            let across = |row: &Row| row.from % width;
            let low = rows[begin..end].iter().map(across).min().unwrap_or(0);
            let high = rows[begin..end].iter().map(|r| across(r) + r.len).max().unwrap_or(0);
            let place = |row: &Row| row.from - across(row) + low;
            let len = high - low;
            blocks.push(Self { rows: begin..end, from: place(&rows[begin]), to: place(&rows[end - 1]), len, trials });
            trials += len * windows;
            begin = end;
        }
        blocks
    }
}

/// Figures of cells as running sums along the shore, with room to add up in: of finds, or of finds expected.
pub(in crate::reading) struct RunningSums<T> {
    /// The sum of all cells before each, at the same step across.
    before: Vec<T>,
    inside: Vec<T>,
}

impl<T: Copy + Default + std::ops::Add<Output = T> + std::ops::Sub<Output = T> + std::ops::AddAssign> RunningSums<T> {
    pub(in crate::reading) fn new(grid: &Padded) -> Self {
        Self { before: vec![T::default(); grid.len + grid.width], inside: Vec::new() }
    }

    /// Adds up values from the row of places that begins at `from`, before which there is nothing.
    pub(in crate::reading) fn sum(&mut self, values: &[T], width: usize, from: usize) {
        for from in (from..values.len()).step_by(width.max(1)) {
            let (done, next) = self.before.split_at_mut(from + width);
            for ((next, done), value) in next.iter_mut().zip(&done[from..]).zip(&values[from..from + width]) {
                *next = *done + *value;
            }
        }
    }

    /// As [`RunningSums::sum`] of values that are nothing outside a range of places; sums beyond that range are not to be
    /// read.
    pub(in crate::reading) fn sum_between(&mut self, values: &[T], width: usize, range: std::ops::Range<usize>) {
        let width = width.max(1);
        let (from, to) = (range.start / width * width, range.end.div_ceil(width).saturating_mul(width).min(values.len()));
        if from < to {
            self.before[from..from + width].fill(T::default());
            self.sum(&values[..to], width, from);
        }
    }

    /// The sum in one window laid round each cell of a row.
    pub(in crate::reading) fn count(&mut self, row: &Row, window: &Runs) -> &[T] {
        self.count_between(row.from, row.from, row.len, window)
    }

    /// The sum in what one window covers as it is moved along the shore from one place to another at the same step across,
    /// and so for as many steps across from there.
    pub(in crate::reading) fn count_between(&mut self, from: usize, to: usize, len: usize, window: &Runs) -> &[T] {
        if self.inside.len() < len {
            self.inside.resize(len, T::default());
        }
        let inside = &mut self.inside[..len];
        let at = |place: usize, step: isize| &self.before[place.wrapping_add_signed(step)..][..len];
        let mut runs = window.ends.iter();
        match runs.next() {
            Some((first, end)) => differ(inside, at(from, *first), at(to, *end)),
            None => inside.fill(T::default()),
        }
        for (first, end) in runs {
            add_difference(inside, at(from, *first), at(to, *end));
        }
        inside
    }
}

// What follows is most of the work of a scan. Written as plain loops, as iterators are calls where little is optimised, and tests
// take many times as long then.

fn differ<T: Copy + std::ops::Sub<Output = T>>(inside: &mut [T], low: &[T], high: &[T]) {
    let len = inside.len();
    let (low, high) = (&low[..len], &high[..len]);
    let mut n = 0;
    while n < len {
        inside[n] = high[n] - low[n];
        n += 1;
    }
}

fn add_difference<T: Copy + std::ops::Sub<Output = T> + std::ops::AddAssign>(inside: &mut [T], low: &[T], high: &[T]) {
    let len = inside.len();
    let (low, high) = (&low[..len], &high[..len]);
    let mut n = 0;
    while n < len {
        inside[n] += high[n] - low[n];
        n += 1;
    }
}

/// The most of all, and whether any is as many as its least or more.
pub(in crate::reading) fn most_and_any(counts: &[u32], least: &[u16]) -> (u32, bool) {
    let len = counts.len();
    let least = &least[..len];
    let (mut most, mut any, mut n) = (0, false, 0);
    while n < len {
        if counts[n] > most {
            most = counts[n];
        }
        any |= counts[n] >= least[n] as u32;
        n += 1;
    }
    (most, any)
}

/// The cells of the first rings of a shape as runs along the shore.
pub(in crate::reading) fn runs(shape: &Shape, rings: usize, width: isize) -> Vec<(isize, isize)> {
    let mut cells: Vec<(i32, i32)> = shape.rings[..rings].iter().flatten().map(|(along, across)| (*across, *along)).collect();
    cells.sort_unstable();
    let place = |(across, along): (i32, i32)| along as isize * width + across as isize;
    let together = |a: &(i32, i32), b: &(i32, i32)| a.0 == b.0 && a.1 + 1 == b.1;
    cells.chunk_by(together).map(|run| (place(run[0]), place(run[run.len() - 1]) + width)).collect()
}

/// Ellipses along the shore, `stretch` times as long as wide, at each of the half widths, cells.
pub(in crate::reading) fn ellipses(stretch: f64, half_widths: &[f64]) -> Shape {
    let far = half_widths.iter().fold(0.0_f64, |m, r| m.max(*r));
    let (along, across) = ((far * stretch).floor() as i32, far.floor() as i32);
    let mut rings = vec![Vec::new(); half_widths.len()];
    for a in -along..=along {
        for b in -across..=across {
            let size = (f64::from(a) / stretch).hypot(f64::from(b));
            if let Some(ring) = half_widths.iter().position(|r| size <= *r) {
                rings[ring].push((a, b));
            }
        }
    }
    Shape { rings }
}

/// Strips along the shore of one width and growing half lengths, cells; both ends counted.
pub(in crate::reading) fn strips(width: i32, half_lengths: &[i32]) -> Shape {
    let from = -(width / 2);
    let mut before = -1;
    let mut rings = Vec::new();
    for half in half_lengths {
        let along = (-half..=*half).filter(|a| a.abs() > before);
        rings.push(along.flat_map(|a| (from..from + width).map(move |b| (a, b))).collect());
        before = *half;
    }
    Shape { rings }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_are_nested_and_whole() {
        let shape = ellipses(1.0, &[1.0, 2.0]);
        assert_eq!((shape.rings[0].len(), shape.rings[1].len()), (5, 8));
        let strip = strips(2, &[1, 3]);
        assert_eq!((strip.rings[0].len(), strip.rings[1].len()), (6, 8));
    }

    #[test]
    fn sums_of_a_part_are_those_of_the_whole_where_there_is_something() {
        let grid = Padded::new(40 * 5, 5, 3, 2);
        let mut values = vec![0_u32; grid.len];
        (70..95).for_each(|cell| values[grid.place[cell]] = 1 + cell as u32 % 7);
        let runs = Runs { shape: 0, rings: 1, ends: runs(&strips(3, &[2]), 1, grid.width as isize) };
        let (mut whole, mut part) = (RunningSums::new(&grid), RunningSums::new(&grid));
        whole.sum(&values, grid.width, 0);
        // What an earlier use left behind.
        part.sum(&vec![9; grid.len], grid.width, 0);
        part.sum_between(&values, grid.width, grid.place[70] - 4 * grid.width..grid.place[94] + 4 * grid.width);
        for along in 12..21 {
            let row = Row { from: grid.place[5 * along], len: 5, trials: 0 };
            assert_eq!(part.count(&row, &runs).to_vec(), whole.count(&row, &runs), "{along}");
        }
    }
}
