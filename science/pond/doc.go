// Package pond couples the laws of water, light, heat and growth into one
// state and one step of a vessel, and applies acts at their exact times. What
// enters and leaves is booked by each law as it acts, so that mass, charge,
// water and heat can be closed over a season.
package pond
