//! Choices read off a row of bytes, so that a failing world shrinks to plain choices: nothing left, or a zero, is the first one.

pub struct Dice<'b> {
    bytes: std::slice::Iter<'b, u8>,
}

impl<'b> Dice<'b> {
    pub fn new(bytes: &'b [u8]) -> Self {
        Self { bytes: bytes.iter() }
    }

    fn next(&mut self) -> u32 {
        self.bytes.next().copied().unwrap_or(0).into()
    }

    /// One of the choices, each as often as its weight says.
    pub fn pick<T: Clone>(&mut self, choices: &[(u32, T)]) -> T {
        let total: u32 = choices.iter().map(|(weight, _)| weight).sum();
        let mut left = self.next() * total / 256;
        for (weight, choice) in choices {
            if left < *weight {
                return choice.clone();
            }
            left -= weight;
        }
        unreachable!("the weights add up to the total")
    }

    /// True so many times in a hundred.
    pub fn chance(&mut self, percent: u32) -> bool {
        self.next() * 100 / 256 >= 100 - percent
    }

    /// A number from 0 to `most`.
    pub fn up_to(&mut self, most: u32) -> u32 {
        self.next() * (most + 1) / 256
    }
}
