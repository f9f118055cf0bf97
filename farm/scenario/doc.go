// Package scenario reads what-if files (a vessel, its medium, culture, weather
// and rules of harvest, feed and water) and runs them on the model, day by day.
package scenario
