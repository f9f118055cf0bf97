// Package files keeps blobs in a folder, each in a file that is named by the
// SHA-256 of its bytes. A file is written aside, brought to disk and then given
// its name, so that under a name there is the whole of it or nothing.
package files
