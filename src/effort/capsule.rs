//! A capsule, cut by rows of dots and drawn square by square.
//!
//! In each row it is an interval, found exactly; the columns whose dots lie in it are set in one 64-bit word.

/// Columns of a square's picture: the bits of a word.
pub(super) const COLUMNS: usize = 64;
/// Rows that a square's picture may have.
pub(super) const MOST_ROWS: usize = 128;
/// Offsets below 1, spread evenly however many are taken: multiples of the golden ratio's share.
const SHIFTS: [f32; MOST_ROWS] = {
    let mut shifts = [0.0; MOST_ROWS];
    let mut n = 0;
    while n < MOST_ROWS {
        // 2^32 times the share; the upper 24 bits make an exact 32-bit float.
        shifts[n] = ((n as u32).wrapping_mul(2_654_435_769) >> 8) as f32 / 16_777_216.0;
        n += 1;
    }
    shifts
};

/// The lesser of two that are numbers; plainer than `f32::min`, so that the compiler takes four at once.
fn less(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater of two that are numbers.
fn more(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// A segment widened by a radius, in squares from its tile's corner: there a 32-bit number tells
/// millionths of a square apart, and four rows are worked out at once.
pub(super) struct Capsule {
    a: (f32, f32),
    b: (f32, f32),
    r: f32,
    /// How far one goes along a row for each row up, following the segment, and following its normal.
    slope: f32,
    lean: f32,
    /// Half the width of the strip along the segment, and the width of that along its normal, both
    /// measured along a row.
    half: f32,
    span: f32,
}

impl Capsule {
    pub(super) fn new(a: (f64, f64), b: (f64, f64), r: f64) -> Self {
        // A step along the rows or columns is turned by a millionth, which spares a case apart.
        let off_zero = |d: f64| if d.abs() < 1e-6 { 1e-6 } else { d };
        let (dx, dy) = (off_zero(b.0 - a.0), off_zero(b.1 - a.1));
        let length2 = dx * dx + dy * dy;
        let single = |p: (f64, f64)| (p.0 as f32, p.1 as f32);
        let half = (r * length2.sqrt() / dy.abs()) as f32;
        let (slope, lean, span) = ((dx / dy) as f32, (-dy / dx) as f32, (length2 / dx) as f32);
        Self { a: single(a), b: single(b), r: r as f32, slope, lean, half, span }
    }

    /// Where the line at height `y` lies in it; empty when the first is greater. A capsule is convex,
    /// so that is one interval: the hull of those in the two discs and in the rectangle between.
    fn interval(&self, y: f32) -> (f32, f32) {
        let disc = |end: (f32, f32)| {
            let h2 = self.r * self.r - (y - end.1) * (y - end.1);
            let h = more(h2, 0.0).sqrt();
            if h2 >= 0.0 { (end.0 - h, end.0 + h) } else { (f32::INFINITY, f32::NEG_INFINITY) }
        };
        let (one, two) = (disc(self.a), disc(self.b));
        // Within the rectangle the distance from the line through both ends is at most the radius,
        // and the foot lies between them: two intervals, of which the overlap counts.
        let up = y - self.a.1;
        let side = (up * self.slope - self.half, up * self.slope + self.half);
        let foot = up * self.lean;
        let (low, high) = (less(foot, foot + self.span), more(foot, foot + self.span));
        let (left, right) = (self.a.0 + more(side.0, low), self.a.0 + less(side.1, high));
        let (left, right) = if left <= right { (left, right) } else { (f32::INFINITY, f32::NEG_INFINITY) };
        (less(less(one.0, two.0), left), more(more(one.1, two.1), right))
    }
}

/// Squares side by side of which the rows of dots lie at the same heights.
pub(super) const ALIKE: usize = 8;

/// The words of the first n columns, for n from 0 to 64; the rest is never asked for.
const COLUMNS_BELOW: [u64; 128] = {
    let mut words = [u64::MAX; 128];
    let mut n = 0;
    while n < COLUMNS {
        words[n] = (1 << n) - 1;
        n += 1;
    }
    words
};

/// A capsule cut by the rows of dots of one row of squares.
///
/// The rows of some squares are shifted by an offset of their own and the columns of each row likewise, so
/// that a swath dead along them is not too wide or too narrow all the way.
pub(super) struct Lines {
    /// The rows it may lie in.
    pub(super) first: usize,
    pub(super) end: usize,
    /// For each of those rows the interval that lies in it, and the word drawn last.
    lefts: [f32; MOST_ROWS],
    rights: [f32; MOST_ROWS],
    pub(super) words: [u64; MOST_ROWS],
}

impl Default for Lines {
    fn default() -> Self {
        Self { first: 0, end: 0, lefts: [0.0; MOST_ROWS], rights: [0.0; MOST_ROWS], words: [0; MOST_ROWS] }
    }
}

impl Lines {
    pub(super) fn cross(&mut self, capsule: &Capsule, rows: usize, alike: usize, row: usize) {
        let offset = SHIFTS[(7 * alike + 13 * row) % MOST_ROWS];
        // The rows between its lowest and its highest point; the cast takes what is below zero to zero.
        let bottom = capsule.a.1.min(capsule.b.1) - capsule.r - row as f32;
        let top = capsule.a.1.max(capsule.b.1) + capsule.r - row as f32;
        self.first = ((bottom * rows as f32 - offset) as usize).min(rows);
        self.end = ((top * rows as f32 - offset) as usize + 1).min(rows);
        let (base, height) = (row as f32 + (self.first as f32 + offset) / rows as f32, 1.0 / rows as f32);
        let count = self.end.saturating_sub(self.first);
        for (k, (left, right)) in self.lefts[..count].iter_mut().zip(&mut self.rights[..count]).enumerate() {
            (*left, *right) = capsule.interval(base + k as f32 * height);
        }
    }

    /// Whether it lies in a square of the row.
    pub(super) fn reach(&self, column: usize) -> bool {
        let count = self.end.saturating_sub(self.first);
        let corner = column as f32;
        self.lefts[..count].iter().zip(&self.rights[..count]).any(|(left, right)| *left < corner + 1.0 && *right > corner)
    }

    /// Draws what of it lies in a square of the row, one word for each row of dots; whether anything does.
    pub(super) fn draw(&mut self, column: usize) -> bool {
        let count = self.end.saturating_sub(self.first);
        let corner = column as f32;
        // Columns up to an end of the interval: from 0 to 64. Added to this large number only whole ones are left,
        // in the lowest bits.
        let columns = |x: f32, shift: f32| {
            let ahead = (x - corner) * COLUMNS as f32 + (0.5 - shift);
            (less(more(ahead, 0.0), COLUMNS as f32) + 12_582_912.0).to_bits() & 127
        };
        let (mut from, mut to) = ([0_u32; MOST_ROWS], [0_u32; MOST_ROWS]);
        let (from, to) = (&mut from[..count], &mut to[..count]);
        let shifts = &SHIFTS[self.first..self.first + count];
        for (((from, to), shift), (left, right)) in
            from.iter_mut().zip(to.iter_mut()).zip(shifts).zip(self.lefts[..count].iter().zip(&self.rights[..count]))
        {
            (*from, *to) = (columns(*left, *shift), columns(*right, *shift));
        }
        let mut any = 0;
        for ((word, from), to) in self.words[..count].iter_mut().zip(from.iter()).zip(to.iter()) {
            *word = COLUMNS_BELOW[*to as usize] & !COLUMNS_BELOW[*from as usize];
            any |= *word;
        }
        any != 0
    }
}
