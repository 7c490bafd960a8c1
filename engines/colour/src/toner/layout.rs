//! The unknowns of a calibration: where each stands in one long vector, and what it means.

use super::Panels;
use crate::film::Bench;
use crate::shelf::{FLAKE_NODES, Flake, Optics, Shelf, ShelfError, Toner, TonerKind};
use crate::spectrum::WAVELENGTHS_NM;

/// Figures of a toner that are the same at every wavelength.
pub(crate) const SCALARS: usize = 8;
pub(crate) const FORWARD: usize = 0;
pub(crate) const CROWDING: usize = 1;
pub(crate) const WIDENING: usize = 2;
pub(crate) const AREA: usize = 3;
pub(crate) const SLOPE: usize = 4;
pub(crate) const TAIL_WEIGHT: usize = 5;
pub(crate) const FILM_INDEX: usize = 6;
pub(crate) const EDGE: usize = 7;

/// Spectra of a toner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Band {
    /// Logarithm of the absorption; of a flake, of its absorptance's odds.
    Absorb,
    /// Logarithm of the scattering; of a flake, of its reflectance's odds.
    Return,
}

/// Where every unknown stands: first all that belong to one wavelength, by wavelength; then the
/// reflectances of travelling flakes, which reach over many; then the toners' plain figures, then the
/// panels'. That order keeps the normal matrix narrow.
pub(crate) struct Layout {
    pub(crate) kinds: Vec<TonerKind>,
    /// By toner and band, where its value of a wavelength stands in that wavelength's block.
    offsets: Vec<[usize; 2]>,
    /// By toner, where its travelling reflectance begins.
    travels: Vec<Option<usize>>,
    block: usize,
    scalars: usize,
    after_blocks: usize,
    /// Logarithm of the flakes' loading, one for all: what disorders one kind disorders another.
    pub(crate) loading: usize,
    panels: usize,
    pub(crate) len: usize,
}

impl Layout {
    pub(crate) fn new(panels: &Panels) -> Self {
        let kinds: Vec<TonerKind> = panels.toners.iter().map(|t| t.kind).collect();
        let mut block = 0;
        let mut next = || {
            block += 1;
            block - 1
        };
        let offsets =
            kinds.iter().map(|k| [next(), if *k == TonerKind::Pearl { usize::MAX } else { next() }]).collect();
        let block = block + 1;
        let after_blocks = block * WAVELENGTHS_NM.len();
        let mut at = after_blocks;
        let travels = kinds
            .iter()
            .map(|k| {
                (*k == TonerKind::Pearl).then(|| {
                    at += FLAKE_NODES;
                    at - FLAKE_NODES
                })
            })
            .collect();
        let scalars = at;
        at += kinds.len() * SCALARS;
        let loading = at;
        at += 1;
        let first_panel = at;
        at += 2 * panels.panels.len();
        Self { kinds, offsets, travels, block, scalars, after_blocks, loading, panels: first_panel, len: at }
    }

    /// A toner's spectrum at a node. Past 700 nm only a travelling flake has values of its own; the
    /// others repeat their last.
    pub(crate) fn band(&self, toner: usize, band: Band, node: usize) -> usize {
        match (band, self.travels[toner]) {
            (Band::Return, Some(start)) => start + node,
            _ => self.block * node.min(30) + self.offsets[toner][usize::from(band == Band::Return)],
        }
    }

    /// Logarithm of the clear coat's optical depth.
    pub(crate) fn clear(&self, node: usize) -> usize {
        self.block * node + self.block - 1
    }

    pub(crate) fn scalar(&self, toner: usize, which: usize) -> usize {
        self.scalars + toner * SCALARS + which
    }

    /// Logarithm of a panel's film over what the gauge read.
    pub(crate) fn film(&self, panel: usize) -> usize {
        self.panels + 2 * panel
    }

    /// Logarithm of the factor on a panel's flake slopes.
    pub(crate) fn lie(&self, panel: usize) -> usize {
        self.panels + 2 * panel + 1
    }

    /// Where each row of the normal matrix begins: two wavelengths back for smoothness, and at the start
    /// for what is not of one wavelength. Unknowns that no panel speaks of stand alone.
    pub(crate) fn skyline(&self, panels: &Panels) -> Vec<usize> {
        let mut first: Vec<usize> = (0..self.len)
            .map(|i| if i < self.after_blocks { (i / self.block).saturating_sub(2) * self.block } else { 0 })
            .collect();
        for (toner, kind) in self.kinds.iter().enumerate() {
            for which in (0..SCALARS).filter(|w| !plain(*kind).contains(w)) {
                let at = self.scalar(toner, which);
                first[at] = at;
            }
        }
        for (index, panel) in panels.panels.iter().enumerate() {
            if !panel.parts.iter().any(|p| self.flake(p.toner)) {
                first[self.lie(index)] = self.lie(index);
            }
        }
        first
    }

    pub(crate) fn flake(&self, toner: usize) -> bool {
        self.kinds[toner].is_flake()
    }

    /// A toner's optics at these unknowns.
    pub(crate) fn optics(&self, theta: &[f64], toner: usize) -> Optics {
        let scalar = |which| theta[self.scalar(toner, which)];
        let spectrum = |band| -> [f64; 31] { std::array::from_fn(|k| theta[self.band(toner, band, k)]) };
        if self.flake(toner) {
            let reflectance: [f64; FLAKE_NODES] =
                std::array::from_fn(|k| part(theta[self.band(toner, Band::Return, k)]));
            let pearl = self.kinds[toner] == TonerKind::Pearl;
            let absorptance =
                if pearl { spectrum(Band::Absorb).map(part) } else { std::array::from_fn(|k| 1.0 - reflectance[k]) };
            return Optics {
                absorption: [0.0; 31],
                scattering: [base::math::exp(scalar(EDGE)); 31],
                forwardness: 0.0,
                crowding: 0.0,
                widening: 0.0,
                flake: Some(Flake {
                    area: base::math::exp(scalar(AREA)),
                    slope_sd: base::math::exp(scalar(SLOPE)),
                    loading: base::math::exp(theta[self.loading]),
                    tail_weight: part(scalar(TAIL_WEIGHT)),
                    reflectance,
                    film_index: pearl.then(|| film_index(scalar(FILM_INDEX))),
                    absorptance,
                }),
            };
        }
        Optics {
            absorption: spectrum(Band::Absorb).map(base::math::exp),
            scattering: spectrum(Band::Return).map(base::math::exp),
            forwardness: forwardness(scalar(FORWARD)),
            crowding: base::math::exp(scalar(CROWDING)),
            widening: base::math::exp(scalar(WIDENING)),
            flake: None,
        }
    }

    /// The shelf at these unknowns.
    pub(crate) fn shelf(&self, theta: &[f64], panels: &Panels) -> Result<Shelf, ShelfError> {
        let toners = panels
            .toners
            .iter()
            .enumerate()
            .map(|(index, info)| Toner {
                name: info.name.clone(),
                kind: info.kind,
                density_g_cm3: info.density_g_cm3,
                max_fraction: info.max_fraction,
                solids_fraction: info.solids_fraction,
                optics: self.optics(theta, index),
            })
            .collect();
        let clear = std::array::from_fn(|k| base::math::exp(theta[self.clear(k)]));
        Shelf::new(toners, panels.substrates.clone(), clear)
    }

    pub(crate) fn bench(&self, theta: &[f64], panels: &Panels) -> Result<Bench, ShelfError> {
        Ok(Bench::new(&self.shelf(theta, panels)?))
    }
}

/// The plain figures that a kind of toner has.
pub(crate) fn plain(kind: TonerKind) -> &'static [usize] {
    match kind {
        TonerKind::Solid => &[FORWARD, CROWDING, WIDENING],
        TonerKind::FlopAdjuster => &[WIDENING],
        TonerKind::Aluminium => &[AREA, SLOPE, TAIL_WEIGHT, EDGE],
        TonerKind::Pearl => &[AREA, SLOPE, TAIL_WEIGHT, EDGE, FILM_INDEX],
    }
}

/// Odds to a part of 1.
pub(crate) fn part(log_odds: f64) -> f64 {
    1.0 / (1.0 + base::math::exp(-log_odds))
}

/// A part of 1 to the logarithm of its odds.
pub(crate) fn log_odds(part: f64) -> f64 {
    base::math::ln(part / (1.0 - part))
}

/// The forwardness of an unknown: kept in -0.2..0.8.
pub(crate) fn forwardness(x: f64) -> f64 {
    part(x) - 0.2
}

/// The film index of an unknown: kept in 1.15..3.15.
pub(crate) fn film_index(x: f64) -> f64 {
    1.15 + 2.0 * part(x)
}
