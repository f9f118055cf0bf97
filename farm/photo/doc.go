// Package photo is a photo as a farm keeps it: the bytes that are drawn and how
// they are turned, and nothing of where, when, with what and by whom it was
// taken. A file is looked at before it is read, so that one that is too large or
// no photo costs next to nothing; it is never drawn here and never made anew,
// so that nothing of what it shows is lost.
package photo
