//! How calcium, magnesium, potassium and sodium share the ground of each zone, and how far that is from shares somebody
//! aims at. Information only: nothing here is read by what works out needs and rates, and no rate comes from a ratio.
//!
//! [`zone_grounds`] takes a zone's means from the maps, [`ZoneSharing::of`] sets one against [`ShareTargets`]. Amounts
//! are equivalents turned into pounds ([`stoichiometry`]); what moves a share and what does not is [`Mover`].

mod departure;
#[cfg(test)]
mod hand_made;
mod mover;
mod sodium;
pub mod sodium_equations;
pub mod stoichiometry;
mod targets;
mod zone_ground;
mod zone_sharing;

pub use departure::{Departure, SumRule};
pub use mover::{Mover, PlannedLime};
pub use sodium::{Drainage, GypsumAtHand, SodiumSettings, SodiumState, ZoneSodium, salty_from_ds_m};
pub use targets::{COMMON_PRACTICE, ShareTargets, TargetFault, TargetRow};
pub use zone_ground::{CecBasis, ZoneGround, zone_grounds};
pub use zone_sharing::{AgainstTargets, Approach, Look, NoTargets, SharingSettings, ZoneSharing};
