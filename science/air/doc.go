// Package air is moist air: vapour pressure, pressure with height, density,
// latent heat, and the weather at one instant as a body of water meets it.
package air
