use super::super::filters::dot;
use super::inputs::INPUTS;

/// Hidden units.
const HIDDEN: usize = 96;
/// Curves that come out.
pub(super) const CURVES: usize = 3;
/// Number of rows: one for each gate of each unit.
const GATES: usize = 3 * HIDDEN;
/// Number of columns that are added at once.
const TOGETHER: usize = 4;

/// Where each table begins in the file, bytes.
const SHIFT_AT: usize = 12;
const SCALE_AT: usize = SHIFT_AT + 4 * INPUTS;
const INPUT_AT: usize = SCALE_AT + 4 * INPUTS;
const RECURRENT_AT: usize = INPUT_AT + 4 * GATES * INPUTS;
const INPUT_BIAS_AT: usize = RECURRENT_AT + 4 * GATES * HIDDEN;
const RECURRENT_BIAS_AT: usize = INPUT_BIAS_AT + 4 * GATES;
const OUTPUT_AT: usize = RECURRENT_BIAS_AT + 4 * GATES;
const OUTPUT_BIAS_AT: usize = OUTPUT_AT + 4 * CURVES * HIDDEN;
const CHECK_AT: usize = OUTPUT_BIAS_AT + 4 * CURVES;

/// The weights as `benches/ear/train.py` wrote them; its head says how they lie in `ear.weights`. Weights of another size do
/// not compile.
const FILE: &[u8; CHECK_AT + 4] = include_bytes!("../../../assets/ear.weights");

static SHIFT: [f32; INPUTS] = numbers(SHIFT_AT);
static SCALE: [f32; INPUTS] = numbers(SCALE_AT);
static INPUT: [[f32; GATES]; INPUTS] = columns(INPUT_AT);
static RECURRENT: [[f32; GATES]; HIDDEN] = columns(RECURRENT_AT);
static INPUT_BIAS: [f32; GATES] = numbers(INPUT_BIAS_AT);
static RECURRENT_BIAS: [f32; GATES] = numbers(RECURRENT_BIAS_AT);
static OUTPUT: [f32; CURVES * HIDDEN] = numbers(OUTPUT_AT);
static OUTPUT_BIAS: [f32; CURVES] = numbers(OUTPUT_BIAS_AT);

/// The number at a place of the file.
const fn number(at: usize) -> f32 {
    f32::from_le_bytes([FILE[at], FILE[at + 1], FILE[at + 2], FILE[at + 3]])
}

/// The numbers of the file from a place on.
const fn numbers<const COUNT: usize>(from: usize) -> [f32; COUNT] {
    let mut numbers = [0.0; COUNT];
    let mut n = 0;
    while n < COUNT {
        numbers[n] = number(from + 4 * n);
        n += 1;
    }
    numbers
}

/// The columns of a table of the file, whose rows lie one after the other: a column has a number for each row.
const fn columns<const COUNT: usize>(from: usize) -> [[f32; GATES]; COUNT] {
    let mut columns = [[0.0; GATES]; COUNT];
    let mut row = 0;
    while row < GATES {
        let mut n = 0;
        while n < COUNT {
            columns[n][row] = number(from + 4 * (row * COUNT + n));
            n += 1;
        }
        row += 1;
    }
    columns
}

/// One recurrent layer and its memory: a gated recurrent unit (Cho and others, "Learning phrase representations using RNN
/// encoder-decoder", 2014, with the gates as PyTorch orders them: reset, update, new).
#[derive(Debug, Clone)]
pub(super) struct Net {
    memory: [f32; HIDDEN],
}

impl Net {
    /// A net that remembers nothing.
    pub(super) const fn new() -> Self {
        Self { memory: [0.0; HIDDEN] }
    }

    /// Takes the inputs of one frame; for each curve the logit of "a note began so many frames ago".
    pub(super) fn step(&mut self, inputs: &[f32; INPUTS]) -> [f32; CURVES] {
        let mut given = *inputs;
        for (value, (shift, scale)) in given.iter_mut().zip(SHIFT.iter().zip(&SCALE)) {
            *value = (*value - shift) * scale;
        }
        let from_inputs = sums(&INPUT, &given, &INPUT_BIAS);
        let from_memory = sums(&RECURRENT, &self.memory, &RECURRENT_BIAS);
        for (unit, memory) in self.memory.iter_mut().enumerate() {
            let (update, new) = (unit + HIDDEN, unit + 2 * HIDDEN);
            let reset = squashed(from_inputs[unit] + from_memory[unit]);
            let keep = squashed(from_inputs[update] + from_memory[update]);
            // The hyperbolic tangent, by the logistic function.
            let new = 2.0 * squashed(2.0 * (from_inputs[new] + reset * from_memory[new])) - 1.0;
            *memory = (1.0 - keep) * new + keep * *memory;
        }
        std::array::from_fn(|curve| OUTPUT_BIAS[curve] + dot(&OUTPUT[curve * HIDDEN..][..HIDDEN], &self.memory))
    }
}

/// Each column times its value, summed over the bias: the compiler uses wide registers for the rows, which do not depend on each
/// other.
fn sums(columns: &[[f32; GATES]], values: &[f32], bias: &[f32; GATES]) -> [f32; GATES] {
    let mut sums = *bias;
    for (columns, values) in columns.chunks_exact(TOGETHER).zip(values.chunks_exact(TOGETHER)) {
        let ([a, b, c, d], [of_a, of_b, of_c, of_d]) = (columns, values) else { continue };
        for row in 0..GATES {
            sums[row] += (a[row] * of_a + b[row] * of_b) + (c[row] * of_c + d[row] * of_d);
        }
    }
    sums
}

/// A logit as a probability (the logistic function).
pub(in super::super) fn squashed(logit: f32) -> f32 {
    1.0 / (1.0 + (-logit).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn word(bytes: &[u8]) -> u32 {
        u32::from_le_bytes(bytes.try_into().unwrap())
    }

    #[test]
    fn the_weights_arrived_whole() {
        let counts: Vec<u32> = FILE[..SHIFT_AT].chunks(4).map(word).collect();
        assert_eq!(counts, [INPUTS as u32, HIDDEN as u32, CURVES as u32]);
        // FNV-1a, 32 bits (Fowler, Noll and Vo).
        let hash = FILE[..CHECK_AT].iter().fold(0x811c_9dc5u32, |h, b| (h ^ u32::from(*b)).wrapping_mul(0x0100_0193));
        assert_eq!(hash, word(&FILE[CHECK_AT..]));
    }

    #[test]
    fn the_net_says_what_it_said_where_it_was_trained() {
        // Inputs and answers of frames of a made performance, written by PyTorch in double precision beside the weights.
        let reference = include_bytes!("../../../tests/data/ear/weights.reference");
        let numbers: Vec<f32> = reference.chunks(4).map(|four| f32::from_bits(word(four))).collect();
        let mut net = Net::new();
        let mut worst = 0.0f32;
        for frame in numbers.chunks(INPUTS + CURVES) {
            let said = net.step(frame[..INPUTS].try_into().unwrap());
            worst = said.iter().zip(&frame[INPUTS..]).map(|(a, b)| (a - b).abs()).fold(worst, f32::max);
        }
        assert_eq!(numbers.len(), 120 * (INPUTS + CURVES));
        assert!(worst < 1e-4, "{worst}");
    }
}
