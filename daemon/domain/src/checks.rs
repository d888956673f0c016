//! The checks, one file each, in the order reports list them.

use crate::check::Check;

pub mod axle_arms;
pub mod axle_reaction;
pub mod brakes_cut_sensors;
pub mod brakes_fitness;
pub mod brakes_heat;
pub mod brakes_lever_cutoff;
pub mod brakes_mount;
pub mod brakes_pitch_over;
pub mod brakes_size;
pub mod brakes_throttle_cutoff;
pub mod chain_length;
pub mod chain_pull;
pub mod chain_slack;
pub mod chain_width;
pub mod chainline_centre;
pub mod chainline_cog_angles;
pub mod chainline_predicted;
pub mod chainring_bolts;
pub mod class_assist_speed;
pub mod class_power;
pub mod class_rider_age;
pub mod class_throttle;
pub mod clearance_motor_and_ring;
pub mod cockpit_clamp;
pub mod cockpit_width;
pub mod derailleur_capacity;
pub mod donor_inspection;
pub mod donor_wear;
pub mod donor_wheels;
pub mod dropout_fit;
pub mod fork_front_hub;
pub mod fork_signature;
pub mod frame_soundness;
pub mod handover_balance;
pub mod handover_class_label;
pub mod handover_full_charge;
pub mod handover_papers;
pub mod handover_settings;
pub mod handover_signature;
pub mod hill_climb_speed;
pub mod hill_restart;
pub mod hub_cogs;
pub mod hub_torque;
pub mod lights_load;
pub mod lights_supply;
pub mod mass_as_weighed;
pub mod mass_axles;
pub mod mass_carrier;
pub mod mass_gross;
pub mod mass_margin;
pub mod mass_tyres;
pub mod mass_wheels;
pub mod money_budget;
pub mod pack_bosses;
pub mod pack_c_rate;
pub mod pack_charger_match;
pub mod pack_charging;
pub mod pack_current;
pub mod pack_current_margin;
pub mod pack_full_volts;
pub mod pack_fuse;
pub mod pack_headroom;
pub mod pack_insulation;
pub mod pack_low_cutoff;
pub mod pack_low_window;
pub mod pack_papers;
pub mod pack_precharge;
pub mod pack_receipt_volts;
pub mod pack_space;
pub mod parts_as_ordered;
pub mod parts_identity;
pub mod parts_received;
pub mod pedal_lean;
pub mod pedal_offset;
pub mod pedal_toe;
pub mod range_energy;
pub mod ride_brake_failed;
pub mod ride_case_temperature;
pub mod ride_conditions;
pub mod ride_cutoff_margin;
pub mod ride_cutoff_speed;
pub mod ride_energy;
pub mod ride_fault_codes;
pub mod ride_hill_speed;
pub mod ride_lowest_volts;
pub mod ride_motor_alone;
pub mod ride_recheck;
pub mod ride_restart;
pub mod ride_run_on;
pub mod ride_steps;
pub mod ride_stopping;
pub mod ride_top_speed;
pub mod ride_walk_assist;
pub mod sensors_pedal;
pub mod sensors_shift;
pub mod shell_fit;
pub mod shell_stack;
pub mod speed_motor_alone;
pub mod speed_top;
pub mod stay_predicted_gap;
pub mod torque_list;
pub mod tyre_pressure;
pub mod wheel_circumference;
pub mod wheel_clearances;
pub mod wheel_rim_tyre;
pub mod wheel_spokes;
pub mod wheel_true;
pub mod wiring_connector;
pub mod wiring_leads;
pub mod wiring_looms;
pub mod wiring_plugs;

#[cfg(test)]
mod properties;
#[cfg(test)]
mod remedies;
#[cfg(test)]
mod survey;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod weak_limits;

/// All checks.
pub static ALL: &[&Check] = &[
    &class_power::CHECK,
    &class_throttle::CHECK,
    &class_assist_speed::CHECK,
    &class_rider_age::CHECK,
    &frame_soundness::CHECK,
    &donor_wear::CHECK,
    &donor_wheels::CHECK,
    &donor_inspection::CHECK,
    &wheel_rim_tyre::CHECK,
    &shell_fit::CHECK,
    &stay_predicted_gap::CHECK,
    &chainline_predicted::CHECK,
    &dropout_fit::CHECK,
    &axle_arms::CHECK,
    &fork_front_hub::CHECK,
    &fork_signature::CHECK,
    &pack_space::CHECK,
    &pack_bosses::CHECK,
    &cockpit_clamp::CHECK,
    &cockpit_width::CHECK,
    &wiring_looms::CHECK,
    &wiring_plugs::CHECK,
    &brakes_fitness::CHECK,
    &brakes_size::CHECK,
    &brakes_mount::CHECK,
    &brakes_heat::CHECK,
    &brakes_pitch_over::CHECK,
    &brakes_cut_sensors::CHECK,
    &mass_gross::CHECK,
    &mass_margin::CHECK,
    &mass_tyres::CHECK,
    &mass_wheels::CHECK,
    &mass_carrier::CHECK,
    &pack_full_volts::CHECK,
    &pack_headroom::CHECK,
    &pack_current::CHECK,
    &pack_current_margin::CHECK,
    &pack_c_rate::CHECK,
    &pack_charger_match::CHECK,
    &pack_charging::CHECK,
    &pack_low_cutoff::CHECK,
    &pack_low_window::CHECK,
    &lights_supply::CHECK,
    &lights_load::CHECK,
    &range_energy::CHECK,
    &hill_climb_speed::CHECK,
    &hill_restart::CHECK,
    &speed_top::CHECK,
    &speed_motor_alone::CHECK,
    &money_budget::CHECK,
    &parts_received::CHECK,
    &parts_as_ordered::CHECK,
    &parts_identity::CHECK,
    &pack_receipt_volts::CHECK,
    &pack_papers::CHECK,
    &derailleur_capacity::CHECK,
    &hub_cogs::CHECK,
    &hub_torque::CHECK,
    &chainring_bolts::CHECK,
    &chain_width::CHECK,
    &shell_stack::CHECK,
    &clearance_motor_and_ring::CHECK,
    &chainline_centre::CHECK,
    &chainline_cog_angles::CHECK,
    &chain_length::CHECK,
    &chain_slack::CHECK,
    &chain_pull::CHECK,
    &axle_reaction::CHECK,
    &torque_list::CHECK,
    &brakes_lever_cutoff::CHECK,
    &brakes_throttle_cutoff::CHECK,
    &sensors_shift::CHECK,
    &sensors_pedal::CHECK,
    &pack_insulation::CHECK,
    &pack_fuse::CHECK,
    &pack_precharge::CHECK,
    &wiring_connector::CHECK,
    &wiring_leads::CHECK,
    &wheel_circumference::CHECK,
    &wheel_clearances::CHECK,
    &pedal_toe::CHECK,
    &pedal_offset::CHECK,
    &pedal_lean::CHECK,
    &wheel_spokes::CHECK,
    &wheel_true::CHECK,
    &tyre_pressure::CHECK,
    &mass_as_weighed::CHECK,
    &mass_axles::CHECK,
    &ride_conditions::CHECK,
    &ride_stopping::CHECK,
    &ride_brake_failed::CHECK,
    &ride_cutoff_speed::CHECK,
    &ride_cutoff_margin::CHECK,
    &ride_top_speed::CHECK,
    &ride_motor_alone::CHECK,
    &ride_walk_assist::CHECK,
    &ride_run_on::CHECK,
    &ride_hill_speed::CHECK,
    &ride_restart::CHECK,
    &ride_lowest_volts::CHECK,
    &ride_case_temperature::CHECK,
    &ride_energy::CHECK,
    &ride_fault_codes::CHECK,
    &ride_recheck::CHECK,
    &ride_steps::CHECK,
    &handover_full_charge::CHECK,
    &handover_settings::CHECK,
    &handover_class_label::CHECK,
    &handover_papers::CHECK,
    &handover_balance::CHECK,
    &handover_signature::CHECK,
];
