// Package storetest is the one suite that every store of the journal passes:
// what the comments of farm.Store promise, tried out.
package storetest
