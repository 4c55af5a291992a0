//! How far the acoustic model is from the machine, on one thread: a window of 9.6 s, words
//! alone and with letters and what the text decoder reads, and the matrices of such a window
//! in 8-bit whole numbers and in floats. The best of 30 runs each.
//!
//! `pace [WEIGHTS.onnx]`

use std::error::Error;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use jumpseat_speech::RtenModel;
use jumpseat_speech::acoustic::AcousticModel;
use jumpseat_speech::mel::{MEL_HOP_SAMPLES, MelFrontEnd};
use jumpseat_speech::text_model::TextModel;
use rten::ThreadPool;
use rten_gemm::{GemmExecutor, GemmInT, GemmInputA, GemmInputB, GemmOptions, GemmOutT};
use rten_tensor::{AsView as _, NdTensor};

const RUNS: usize = 30;
/// Frames of 10 ms.
const WINDOW_FRAMES: usize = 960;
/// Rows (steps), inputs and outputs of the matrices that most of the arithmetic is in.
const MATRICES: [(usize, usize, usize); 5] = [
    (480, 1536, 512),
    (240, 512, 1536),
    (240, 512, 512),
    (240, 512, 2048),
    (240, 2048, 512),
];

fn main() -> Result<(), Box<dyn Error>> {
    let model = match std::env::args_os().nth(1) {
        Some(weights) => RtenModel::open(Path::new(&weights))?,
        None => RtenModel::built_in()?,
    };
    let energies = MelFrontEnd::new().energies(&noise(WINDOW_FRAMES * MEL_HOP_SAMPLES));
    window("words alone", || model.scores(&energies).map(drop))?;
    window("all outputs", || model.window(&energies).map(drop))?;
    println!("billions of multiply-adds a second, int8 and float");
    let one_thread = ThreadPool::with_num_threads(1);
    for (rows, depth, columns) in MATRICES {
        let (whole, float) = one_thread.run(|| {
            let whole = product::<u8, i8, i32>(rows, depth, columns);
            (whole, product::<f32, f32, f32>(rows, depth, columns))
        });
        println!("{rows} x {depth} x {columns}: {whole:.0} {float:.0}");
    }
    Ok(())
}

fn window<E>(name: &str, mut run: impl FnMut() -> Result<(), E>) -> Result<(), E> {
    let best_s = best(&mut run)?;
    let length_s = WINDOW_FRAMES as f64 / 100.0;
    println!(
        "a window of {length_s} s, {name}: {:.1} ms, {:.0} times real time",
        best_s * 1e3,
        length_s / best_s
    );
    Ok(())
}

/// Billions of multiply-adds a second of a product whose second matrix is packed beforehand.
fn product<A, B, C>(rows: usize, depth: usize, columns: usize) -> f64
where
    A: GemmInT + Default,
    B: GemmInT + Default,
    C: GemmOutT + Default,
    GemmExecutor<A, B, C>: Default,
{
    let gemm = GemmExecutor::<A, B, C>::default();
    let inputs = NdTensor::<A, 2>::zeros([rows, depth]);
    let packed = gemm.prepack_b(NdTensor::<B, 2>::zeros([depth, columns]).view());
    let mut out = vec![C::default(); rows * columns];
    let best_s = best(&mut || {
        gemm.gemm(
            black_box(&mut out),
            GemmInputA::Unpacked(inputs.view()),
            GemmInputB::Packed(&packed),
            GemmOptions::default(),
        )
    });
    let count = (rows * depth * columns) as f64;
    best_s.map_or(0.0, |seconds| count / seconds / 1e9)
}

/// Seconds of the fastest of some runs.
fn best<E>(run: &mut impl FnMut() -> Result<(), E>) -> Result<f64, E> {
    let mut best_s = f64::INFINITY;
    for _ in 0..RUNS {
        let began = Instant::now();
        run()?;
        best_s = best_s.min(began.elapsed().as_secs_f64());
    }
    Ok(best_s)
}

fn noise(count: usize) -> Vec<f32> {
    let mut state = 1_u32;
    (0..count)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            state as f32 / 4_294_967_296.0 - 0.5
        })
        .collect()
}
