package farm

import (
	"cmp"
	"strings"
	"time"
)

// record is an entry as Present keeps it. There are hundreds of thousands in a
// long journal, most of them readings, so what few have is kept apart.
type record struct {
	id                 string
	vessel, site, by   string
	body               string // canonical; "" of a batch, whose samples the store keeps
	kind               *Kind  // nil if the entry cannot be read
	at, noted, arrived int64  // [ms] since 1970 UTC; arrived is when it was received, 0 if unknown
	seq                int64
	*rare
	stands bool
	rivals bool // other corrections of the same entry lost against it
}

// rare is what few records have. Those that have none of it share one.
type rare struct {
	corrects, item string
	flows          []Flow   // where one of them moves culture
	touches        []string // vessels it speaks of, where that is not vessel alone
	sign           string   // reason of the hold it begins
	lots           []string // that it speaks of, or takes from
	tools          []string // that it was done with, or that it cleaned
	thing          any      // of a setup kind
	batch          BatchRef
}

var plain = &rare{} // never written to

// holds reports whether r began something that a person can end: a sign on a
// vessel, or a lot called back or made of one that was rejected.
func (r *record) holds() bool {
	return r.sign != "" || r.kind != nil && (r.kind.Name == "recalled" || r.kind.Name == "rejected")
}

func (r *record) when() time.Time { return time.UnixMilli(r.at).UTC() }

// entry returns the entry as it was applied, but for its hashes.
func (r *record) entry() Entry {
	e := Entry{
		ID: r.id, Site: r.site, Vessel: r.vessel, Kind: r.kind.Name, V: bodyVersion, At: r.when(),
		NotedAt: time.UnixMilli(r.noted).UTC(), By: r.by, Body: []byte(r.body), Corrects: r.corrects, Item: r.item, Seq: r.seq,
	}
	if r.arrived != 0 {
		e.ReceivedAt = time.UnixMilli(r.arrived).UTC()
	}
	return e
}

// speaksOf returns the vessels in whose lines r stands.
func (r *record) speaksOf() []string {
	if r.touches == nil && r.vessel != "" {
		return []string{r.vessel}
	}
	return r.touches
}

// decoded takes the body apart. It was taken apart when it was applied, or is
// a reading without a sign; a body that cannot be read holds nothing.
func (r *record) decoded() Body {
	b, _ := decodeBody(r.kind, []byte(r.body))
	return b
}

func compareRecords(a, b *record) int {
	return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.noted, b.noted), strings.Compare(a.id, b.id))
}
