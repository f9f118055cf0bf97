package farm

import (
	"encoding/json"
	"math"
	"time"
)

// Batch is the body of the kinds "weather" and "sensor": many samples in one
// entry, a column for each quantity. Row i of weather is the mean (of rain the
// sum) from At(i) to At(i)+Step; row i of a sensor is what it showed at At(i).
type Batch struct {
	Source      string               // whose weather it is, or which sensor
	Made        string               // weather: one of WeatherMakes
	IssuedAt    time.Time            // of a forecast: when it was issued
	Start       time.Time            // of row 0
	Step        time.Duration        // from row to row; 0 if Offsets tells
	Offsets     []time.Duration      // sensor: of each row from Start, rising
	WindHeightM float64              // height of the wind [m]; 0 if there is none
	Columns     map[string][]float64 // by a key of WeatherColumns or of a reading, in its unit; NaN where a sample is missing
}

// WeatherMakes says where weather can come from.
var WeatherMakes = []string{"measured", "forecast"}

// WeatherColumns are the columns of weather.
var WeatherColumns = []Field{
	{Key: "ghi_w_m2", Form: FormNumber, Unit: "W/m²", What: "sun and sky on a level plane", Hard: from(-20, 1800)},
	{Key: "dni_w_m2", Form: FormNumber, Unit: "W/m²", What: "sun on a plane that faces it", Hard: from(-20, 1500)},
	{Key: "dhi_w_m2", Form: FormNumber, Unit: "W/m²", What: "sky on a level plane", Hard: from(-20, 1000)},
	{Key: "t_air_c", Form: FormNumber, Unit: "°C", What: "air in the shade at 2 m", Hard: from(-90, 65)},
	{Key: "rh_pct", Form: FormNumber, Unit: "%", What: "relative humidity at 2 m", Hard: from(0, 105)},
	{Key: "wind_m_s", Form: FormNumber, Unit: "m/s", What: "wind at wind_height_m", Hard: from(0, 120)},
	{Key: "rain_mm", Form: FormNumber, Unit: "mm", What: "rain in the step", Hard: from(0, 500)},
	{Key: "pressure_hpa", Form: FormNumber, Unit: "hPa", What: "pressure at the place itself", Hard: from(300, 1100)},
	{Key: "longwave_down_w_m2", Form: FormNumber, Unit: "W/m²", What: "heat radiation of the sky", Hard: from(0, 700)},
	{Key: "cloud_pct", Form: FormNumber, Unit: "%", What: "share of the sky under cloud", Hard: from(0, 100)},
}

// maxRows bounds a batch: four weeks of five-minute samples.
const maxRows = 8064

// Rows returns the number of rows [1].
func (b Batch) Rows() int {
	for _, c := range b.Columns {
		return len(c)
	}
	return 0
}

// At returns the time of row i.
func (b Batch) At(i int) time.Time {
	if b.Step > 0 {
		return b.Start.Add(time.Duration(i) * b.Step)
	}
	return b.Start.Add(b.Offsets[i])
}

// End returns when the last row ends.
func (b Batch) End() time.Time {
	if n := b.Rows(); b.Step == 0 {
		return b.At(n - 1)
	} else {
		return b.At(n)
	}
}

// DecodeBatch takes raw apart as a body of kind k, "weather" or "sensor".
func DecodeBatch(k *Kind, raw []byte) (Batch, *Error) {
	canonical, err := canonicalJSON(raw)
	if err != nil {
		return Batch{}, invalid("body", "body is not good JSON: %s", err)
	}
	return decodeBatch(k, canonical)
}

func decodeBatch(k *Kind, raw []byte) (Batch, *Error) {
	o := openObject("body", raw)
	o.need("start")
	o.need("columns")
	if k.Name == "weather" {
		o.need("source")
		o.need("made")
		o.need("step_s")
	} else {
		o.need("sensor")
	}
	var b Batch
	b.Start = o.moment("start")
	if s, given := o.whole("step_s", from(1, 86400)); given {
		b.Step = time.Duration(s) * time.Second
	}
	columns := WeatherColumns
	if k.Name == "weather" {
		b.Source = o.text("source", 200)
		b.Made = o.word("made", WeatherMakes)
		b.IssuedAt = o.moment("issued_at")
		b.WindHeightM, _ = o.number("wind_height_m", above(0, 200))
		if b.Made == "forecast" && b.IssuedAt.IsZero() {
			o.fail("issued_at", "is missing: a forecast says when it was issued")
		}
	} else {
		b.Source = o.ref("sensor")
		b.Offsets = o.offsets("offsets_s")
		if (b.Step > 0) == (b.Offsets != nil) {
			o.fail("step_s", "or offsets_s must stand, not both")
		}
		columns = readingFields
	}
	if in := o.sub("columns"); in != nil {
		b.Columns = in.columns(columns)
		o.shut(in)
	}
	if _, wind := b.Columns["wind_m_s"]; wind && b.WindHeightM == 0 && k.Name == "weather" {
		o.fail("wind_height_m", "is missing beside wind_m_s")
	}
	if b.Offsets != nil && b.Columns != nil && len(b.Offsets) != b.Rows() {
		o.fail("offsets_s", "has %d elements for %d rows", len(b.Offsets), b.Rows())
	}
	if e := o.close(); e != nil {
		return Batch{}, e
	}
	return b, nil
}

// columns takes columns of equal length.
func (o *object) columns(known []Field) map[string][]float64 {
	out := map[string][]float64{}
	rows := -1
	for i := range known {
		f := &known[i]
		if f.Form != FormNumber {
			continue
		}
		var column []float64
		if !o.list(f.Key, maxRows, func(i int, raw json.RawMessage) {
			v := math.NaN()
			if raw[0] != 'n' {
				v, _ = o.asNumber(f.Key, raw, f.Hard)
			}
			column = append(column, v)
		}) {
			continue
		}
		if rows >= 0 && len(column) != rows || len(column) == 0 {
			o.fail(f.Key, "has %d rows, not as many as the others", len(column))
		}
		rows = len(column)
		out[f.Key] = column
	}
	if rows < 0 && o.bad == nil && len(o.left) == 0 {
		o.bad = invalid(o.path, "%s has none", o.path)
	}
	return out
}

// offsets takes seconds from the start, rising.
func (o *object) offsets(key string) []time.Duration {
	var out []time.Duration
	o.list(key, maxRows, func(i int, raw json.RawMessage) {
		v, _ := o.asNumber(key, raw, from(0, 400*86400))
		d := time.Duration(math.Round(v*1000)) * time.Millisecond
		if i > 0 && d <= out[i-1] {
			o.fail(key, "does not rise at element %d", i)
		}
		out = append(out, d)
	})
	return out
}

// BatchRef says where a batch of the journal is and what it covers, without
// its samples: Store.Entry and DecodeBatch give those.
type BatchRef struct {
	EntryID    string
	Seq        int64
	Site       string
	Vessel     string
	Source     string
	Made       string
	IssuedAt   time.Time
	Start, End time.Time
	Columns    []string // in alphabetical order
}

// KnownAt returns when the farm could know of it: when a forecast was issued,
// otherwise its end.
func (r BatchRef) KnownAt() time.Time {
	if r.Made == "forecast" {
		return r.IssuedAt
	}
	return r.End
}

func refOf(e Entry, b Batch) BatchRef {
	return BatchRef{
		EntryID: e.ID, Seq: e.Seq, Site: e.Site, Vessel: e.Vessel, Source: b.Source, Made: b.Made,
		IssuedAt: b.IssuedAt, Start: b.Start, End: b.End(), Columns: sortedKeys(b.Columns),
	}
}
