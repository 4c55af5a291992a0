//! The calibration curve as a picture.

use std::fmt::Write as _;

use super::summary::CalibrationBin;

/// Side of the plotting area, and the margin around it, in pixels.
const PLOT_SIDE_PX: f64 = 320.0;
const PLOT_MARGIN_PX: f64 = 48.0;

/// An SVG picture of stated probability against the share that was right, one curve for
/// each named list of bins; the area of a dot goes with how many statements it stands for.
pub fn calibration(curves: &[(String, Vec<CalibrationBin>)]) -> String {
    let size = PLOT_SIDE_PX + 2.0 * PLOT_MARGIN_PX;
    let x = |stated: f64| PLOT_MARGIN_PX + PLOT_SIDE_PX * stated;
    let y = |right: f64| PLOT_MARGIN_PX + PLOT_SIDE_PX * (1.0 - right);
    let mut lines = vec![
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\" \
             font-family=\"sans-serif\" font-size=\"12\">"
        ),
        format!("<rect width=\"{size}\" height=\"{size}\" fill=\"white\"/>"),
        format!(
            "<path d=\"M{} {}V{}H{}M{} {}L{} {}\" fill=\"none\" stroke=\"#999\"/>",
            x(0.0),
            y(1.0),
            y(0.0),
            x(1.0),
            x(0.0),
            y(0.0),
            x(1.0),
            y(1.0)
        ),
    ];
    for tenth in (0..=10).step_by(2) {
        let share = f64::from(tenth) / 10.0;
        lines.push(format!(
            "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>\
             <text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
            x(share),
            y(0.0) + 18.0,
            tenth * 10,
            x(0.0) - 6.0,
            y(share) + 4.0,
            tenth * 10
        ));
    }
    lines.push(format!(
        "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">stated probability of the call sign, %</text>\
         <text x=\"{}\" y=\"24\">share of them that was right, %</text>",
        x(0.5),
        y(0.0) + 38.0,
        PLOT_MARGIN_PX / 2.0
    ));
    let colours = ["#1b6ca8", "#d9822b", "#7a3e9d", "#2e8b57"];
    for (number, (name, bins)) in curves.iter().enumerate() {
        let colour = colours[number % colours.len()];
        let filled: Vec<&CalibrationBin> = bins.iter().filter(|bin| bin.count > 0).collect();
        let mut path = String::new();
        let mut dots = String::new();
        for bin in filled {
            let step = if path.is_empty() { 'M' } else { 'L' };
            let (px, py) = (x(bin.stated), y(bin.right));
            // Writing into a String cannot fail.
            let _ = write!(path, "{step}{px:.1} {py:.1}");
            let _ = write!(
                dots,
                "<circle cx=\"{px:.1}\" cy=\"{py:.1}\" r=\"{:.1}\" fill=\"{colour}\"/>",
                1.5 + (bin.count as f64).sqrt() / 2.0
            );
        }
        lines.push(format!(
            "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\"/>{dots}\
             <text x=\"{}\" y=\"{}\" fill=\"{colour}\">{name}</text>",
            x(0.06),
            y(0.95) + 16.0 * number as f64
        ));
    }
    lines.push("</svg>".to_owned());
    lines.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_passes_through_its_bins_and_skips_empty_ones() {
        let bins = vec![
            CalibrationBin {
                count: 4,
                stated: 0.0,
                right: 0.0,
            },
            CalibrationBin::default(),
            CalibrationBin {
                count: 16,
                stated: 1.0,
                right: 0.5,
            },
        ];
        let picture = calibration(&[("road".to_owned(), bins)]);
        assert!(picture.contains("M48.0 368.0L368.0 208.0"), "{picture}");
        assert_eq!(picture.matches("<circle").count(), 2);
        assert!(picture.contains(">road</text>"));
    }
}
