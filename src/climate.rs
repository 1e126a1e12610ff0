//! Climate: the embedded grid, the places, and the typical year made from monthly means.

pub mod clock;
pub mod coordinates;
pub mod grid;
mod packed;
pub mod places;
pub mod sequence;
pub mod shapes;
pub mod year;
pub mod zones;

/// Lines to show wherever the embedded data is used or printed; the licences ask for them.
pub const ATTRIBUTIONS: [&str; 5] = [
    "Sun: These data were obtained from the NASA Langley Research Center (LaRC) POWER Project funded through the \
     NASA Earth Science/Applied Science Program (SSE Release 6.0, 1983-2005).",
    "Temperature: Contains modified Copernicus Climate Change Service information (2026): ERA5 monthly means \
     2016-2025. Neither the European Commission nor ECMWF is responsible for any use of it.",
    "Extreme minimum temperature: modelled in part from CHELSA V1.1, Karger et al. 2017, Scientific Data 4:170122, \
     CC BY 4.0.",
    "Elevation: terrain tiles from USGS 3DEP, SRTM and GMTED2010, NOAA ETOPO1, ArcticDEM, Geoscience Australia, \
     offene Daten Oesterreichs, Canada Open Government Licence, EU-DEM (Copernicus), INEGI 2016, LINZ, Kartverket, \
     UK Environment Agency.",
    "Place names: GeoNames, https://www.geonames.org/, CC BY 4.0.",
];

/// Words to show beside a figure taken from the grid.
pub const GRID_REMARK: &str = "long-term mean, not a bad year; winter sun above 35 degrees of latitude corrected downwards \
                               for the source's measured optimism; lowest temperature modelled, valleys may be 7 K colder";
