//! Exactly what was typed.

use std::path::PathBuf;

use clap::{Parser, Subcommand};

use super::exit_code::HELP;

/// The commands a newcomer needs stand first; a test holds this list against the commands there are.
const HELP_TEMPLATE: &str = "\
{about}

{usage-heading} {usage}

Start here:
  new      Draft a field file from a lab sheet and an outline; asks what matters
  check    Read everything and tell every fault at once; nothing is written
  run      Zones, rates, maps and files, as far as the answers go

Also:
  decide   The field file as six questions in your own browser, on this machine only
  fields   Fields side by side from one lab sheet, one row a field; asks nothing
  stick    Several fields in one folder for the cab, with one task set
  guides   Recommendation guides built in; a page for each, or for your own
  audit    Any prescription looked at as a controller would: faults and facts
  applied  A log of what was spread held against what was asked
  explain  What a message means and how to mend it

Options:
{options}

{after-help}
";

/// From a soil-test sheet with places to zones by what the ground holds, and a rate file.
#[derive(Debug, Parser)]
#[command(name = "holdground", version, propagate_version = true, help_template = HELP_TEMPLATE, after_help = after_help())]
pub(crate) struct Args {
    #[command(subcommand)]
    pub(crate) command: Command,
    /// No progress, no notes; errors and the result stay.
    #[arg(long, global = true)]
    pub(crate) quiet: bool,
    /// Threads to use; the results do not depend on it.
    #[arg(long, global = true, value_name = "N", value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..=1024))]
    pub(crate) threads: Option<usize>,
    /// Refuse on warnings: nothing is written, exit code 4.
    #[arg(long, global = true)]
    pub(crate) strict: bool,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Draft a field file from a lab sheet and an outline: what it read, "?" where you must answer.
    #[command(
        after_help = "Examples:\n  holdground new lab_2025.csv north.geojson\n  holdground new lab_2025.xlsx north.kml --places cores.gpx\n  holdground new --blank"
    )]
    New(NewArgs),
    /// Read everything and tell every fault at once; nothing is written.
    #[command(after_help = "Example:\n  holdground check field.toml")]
    Check {
        /// The field file.
        field_file: PathBuf,
    },
    /// Zones, rates, maps and files, as far as the answers go.
    #[command(
        after_help = "Examples:\n  holdground run field.toml --out north-2026\n  holdground run field.toml --out north-2026 --replace"
    )]
    Run {
        /// The field file.
        field_file: PathBuf,
        /// Folder to make for the results.
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
        /// Put the new results in the place of an earlier run's folder.
        #[arg(long)]
        replace: bool,
    },
    /// The field file as six questions in your own browser, on this machine only.
    #[command(after_help = "Example:\n  holdground decide field.toml\n\n\
                      Prints the address of a page that shows at once what an answer changes. The field file is written only \
                      on a press of the button there, with its comments and order kept.")]
    Decide {
        /// The field file.
        field_file: PathBuf,
        /// Port of this machine; 0 leaves it to the system.
        #[arg(long, value_name = "N", default_value_t = 0)]
        port: u16,
    },
    /// Fields side by side from one lab sheet, one row a field; asks nothing.
    #[command(
        after_help = "Examples:\n  holdground fields lab.csv\n  holdground fields lab.csv --applied spread.csv --out side-by-side"
    )]
    Fields(FieldsArgs),
    /// Several fields in one folder for the cab, with one task set.
    #[command(
        after_help = "Example:\n  holdground stick north.toml south.toml --out stick\n\nEach field file is run again; `run` gives its maps, tables and summary."
    )]
    Stick(StickArgs),
    /// Recommendation guides built in; with a name one page: figures, sources, what it refuses.
    #[command(
        after_help = "Examples:\n  holdground guides\n  holdground guides tri-state-1995\n  holdground guides my-guide.toml"
    )]
    Guides {
        /// Name of a guide, or the file of your own (it ends in .toml).
        name: Option<String>,
    },
    /// Any prescription looked at as a controller would: what it would choke on, and the facts.
    #[command(
        after_help = "Examples:\n  holdground audit /media/stick\n  holdground audit NORTH_2_POT.shp --against north-2026\n  holdground audit task.zip\n\n\
                      Exit codes: 0 nothing or warnings only, 3 errors found or not readable, 4 warnings with --strict.\n\
                      Rules: docs/audit.md."
    )]
    Audit(AuditArgs),
    /// What was spread against what was asked: covered, skipped, twice, within 10 %, in all and by zone.
    #[command(
        after_help = "Example:\n  holdground applied log.csv --against north-2026 --layer NORTH_2_POT --width-ft 60 --unit lb/ac\n\n\
                      The log holds points in the order driven: a shapefile, a GeoPackage or GeoJSON, or CSV with longitude\n\
                      and latitude in degrees (WGS 84), one line a point."
    )]
    Applied(AppliedArgs),
    /// What a message means and how to mend it; without a name, all names.
    #[command(after_help = "Example:\n  holdground explain samples-outside-boundary")]
    Explain {
        /// Name of the message, as printed in brackets.
        code: Option<String>,
    },
}

/// `holdground new`
#[derive(Debug, clap::Args)]
pub(crate) struct NewArgs {
    /// The lab's sheet: CSV in any form, xlsx, xls, ods, or MODUS XML.
    #[arg(required_unless_present = "blank")]
    pub(crate) lab: Option<PathBuf>,
    /// The field's outline: GeoJSON, shapefile, GeoPackage, KML, KMZ, GPX.
    #[arg(required_unless_present = "blank")]
    pub(crate) outline: Option<PathBuf>,
    /// Where the samples lie, if not on the sheet: waypoints, points, or polygons of composite samples.
    #[arg(long, value_name = "FILE")]
    pub(crate) places: Option<PathBuf>,
    /// Sheet of a workbook that has several.
    #[arg(long, value_name = "NAME")]
    pub(crate) sheet: Option<String>,
    /// CRS of an outline whose file states none.
    #[arg(long, value_name = "CRS")]
    pub(crate) outline_crs: Option<String>,
    /// The outline is a walked line: close it.
    #[arg(long)]
    pub(crate) close_line: bool,
    /// The field file to write; never overwritten.
    #[arg(long, value_name = "FILE", default_value = "field.toml")]
    pub(crate) file: PathBuf,
    /// Write an empty table to type a printed or PDF sheet into.
    #[arg(long, conflicts_with_all = ["lab", "outline"])]
    pub(crate) blank: bool,
}

/// `holdground fields`
#[derive(Debug, clap::Args)]
pub(crate) struct FieldsArgs {
    /// The lab's sheet, one row a field.
    pub(crate) lab: PathBuf,
    /// What was spread: a small table with field, year, product or nutrient, amount, unit.
    #[arg(long, value_name = "FILE")]
    pub(crate) applied: Option<PathBuf>,
    /// Sheet of a workbook that has several.
    #[arg(long, value_name = "NAME")]
    pub(crate) sheet: Option<String>,
    /// Folder to make for the table (CSV) and the picture (PNG).
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Put the new folder in the place of an earlier one.
    #[arg(long)]
    pub(crate) replace: bool,
}

/// `holdground stick`
#[derive(Debug, clap::Args)]
pub(crate) struct StickArgs {
    /// The field files, one a field.
    #[arg(required = true)]
    pub(crate) field_files: Vec<PathBuf>,
    /// Folder to make.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Put the new folder in the place of an earlier one.
    #[arg(long)]
    pub(crate) replace: bool,
}

/// `holdground audit`
#[derive(Debug, clap::Args)]
pub(crate) struct AuditArgs {
    /// Task set (folder, zip or TASKDATA.XML), shapefile, GeoJSON, GeoTIFF or GeoPackage, or a folder or zip of them.
    pub(crate) path: PathBuf,
    /// Result folder of `run`: compare with what was planned, place by place and in all.
    #[arg(long, value_name = "DIR")]
    pub(crate) against: Option<PathBuf>,
}

/// `holdground applied`
#[derive(Debug, clap::Args)]
pub(crate) struct AppliedArgs {
    /// The log: CSV with named columns, one line a point; or points of a shapefile, a GeoPackage or GeoJSON.
    pub(crate) log: PathBuf,
    /// Result folder of `run`.
    #[arg(long, value_name = "DIR")]
    pub(crate) against: PathBuf,
    /// Layer of rates in the folder's `gis`, by the start of its name: NORTH_2_POT.
    #[arg(long, value_name = "STEM")]
    pub(crate) layer: Option<String>,
    /// Column with the longitude; for CSV.
    #[arg(long, value_name = "COLUMN", default_value = "lon")]
    pub(crate) lon: String,
    /// Column with the latitude; for CSV.
    #[arg(long, value_name = "COLUMN", default_value = "lat")]
    pub(crate) lat: String,
    /// Column with the rate of product.
    #[arg(long, value_name = "COLUMN", default_value = "rate")]
    pub(crate) rate: String,
    /// Width spread, feet: a number, or a column.
    #[arg(long, value_name = "FEET|COLUMN")]
    pub(crate) width_ft: String,
    /// Unit of the log's rates: lb/ac, kg/ha, short ton/ac, gal/ac, L/ha, ...
    #[arg(long, value_name = "UNIT")]
    pub(crate) unit: String,
    /// Folder to make for the table by zone (CSV) and the map of difference (PNG).
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
}

fn after_help() -> String {
    format!(
        "Examples:\n  holdground new lab_2025.csv north.geojson\n  holdground check field.toml\n  holdground run field.toml --out north-2026\n  \
         holdground explain samples-outside-boundary\n\nSettings that change a result stand in the field file \
         (docs/field-file.md), never in flags.\n{HELP}"
    )
}
