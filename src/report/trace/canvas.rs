//! A field of dots, shown as braille or as ASCII.

/// Bits of a braille sign's eight dots by column and row (Unicode, block "Braille Patterns").
const DOTS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];
/// Dots that a dash and the space behind it are long.
const DASH: usize = 4;

/// Signs of ASCII: the leader's, and the follower's above it.
const LEADER: char = '.';
const FOLLOWER: char = '#';

/// A field of so many signs.
pub(super) struct Canvas {
    width: usize,
    height: usize,
    ascii: bool,
    dots: Vec<u8>,
    signs: Vec<char>,
}

impl Canvas {
    pub fn new(width: usize, height: usize, ascii: bool) -> Self {
        let cells = width * height;
        Self { width, height, ascii, dots: vec![0; cells], signs: vec![' '; cells] }
    }

    /// How many columns of dots there are.
    pub fn columns(&self) -> usize {
        if self.ascii { self.width } else { self.width * 2 }
    }

    fn rows(&self) -> usize {
        if self.ascii { self.height } else { self.height * 4 }
    }

    /// Draws what a line covers in each column; `low` and `high` are the field's lower and upper
    /// edge.
    pub fn draw(&mut self, stroke: &[Option<(f64, f64)>], (low, high): (f64, f64), dashed: bool) {
        let last = (self.rows() - 1) as f64;
        let row = |value: f64| {
            let share = ((high - value) / (high - low)).clamp(0.0, 1.0);
            (share * last).round() as usize
        };
        for (column, covered) in stroke.iter().enumerate() {
            let Some((min, max)) = covered else { continue };
            // ASCII tells the lines apart by their signs.
            if dashed && !self.ascii && column % (2 * DASH) >= DASH {
                continue;
            }
            for row in row(*max)..=row(*min) {
                self.put(column, row, if dashed { LEADER } else { FOLLOWER });
            }
        }
    }

    fn put(&mut self, column: usize, row: usize, sign: char) {
        if self.ascii {
            self.signs[row * self.width + column] = sign;
        } else {
            self.dots[row / 4 * self.width + column / 2] |= DOTS[column % 2][row % 4];
        }
    }

    /// The lines, top first.
    pub fn lines(&self) -> Vec<String> {
        let sign = |cell: usize| {
            let dots = self.dots[cell];
            let braille = char::from_u32(0x2800 + u32::from(dots)).filter(|_| dots != 0);
            braille.unwrap_or(self.signs[cell])
        };
        let line = |row: usize| (row * self.width..(row + 1) * self.width).map(sign).collect();
        (0..self.height).map(line).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rising_line_is_drawn_from_corner_to_corner() {
        let rising: Vec<_> = (0..4).map(|i| Some((f64::from(i), f64::from(i)))).collect();
        let mut canvas = Canvas::new(2, 1, false);
        canvas.draw(&rising, (0.0, 3.0), false);
        // Dots 7 and 6 of the first sign, 2 and 4 of the second.
        assert_eq!(canvas.lines(), ["\u{2860}\u{280a}"]);
        let mut canvas = Canvas::new(4, 4, true);
        canvas.draw(&rising, (0.0, 3.0), true);
        assert_eq!(canvas.lines(), ["   .", "  . ", " .  ", ".   "]);
    }

    #[test]
    fn the_leader_is_dashed_and_the_follower_is_not() {
        let flat = vec![Some((1.0, 1.0)); 32];
        let dots = |dashed| {
            let mut canvas = Canvas::new(16, 1, false);
            canvas.draw(&flat, (0.0, 2.0), dashed);
            canvas.lines()[0].chars().filter(|c| *c != ' ').count()
        };
        assert_eq!((dots(false), dots(true)), (16, 8));
    }
}
