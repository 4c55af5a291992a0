//! The scale of the pictures of sound.

/// Pixels a second and heights, in the page's units.
pub(crate) struct PictureScale {
    pub(crate) per_second: f64,
    pub(crate) wave: u32,
    pub(crate) spectrum: u32,
}

/// The one scale of all pictures.
pub(crate) const PICTURE_SCALE: PictureScale = PictureScale {
    per_second: 110.0,
    wave: 40,
    spectrum: 80,
};
