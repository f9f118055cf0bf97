// Package plan looks ahead: which day to take how many litres of which vessel
// through the cloth, and how a small culture becomes a large one. The model is
// a function of the caller; a plan is found under many draws of weather and of
// what is not known of the vessels, so that it can keep the chance low that a
// culture is left too thin or a harvest finds no place to dry.
package plan
