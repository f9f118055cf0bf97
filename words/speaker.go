package words

import (
	"embed"
	"fmt"
	"io/fs"
	"math"
	"sort"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"

	"sodalake/farm/advice"
	"sodalake/science/num"
)

//go:embed catalogue/*.toml
var files embed.FS

// catalogues is every language as it was read from the files. It is read-only.
type catalogues struct {
	bundle    *i18n.Bundle
	languages []string                   // tags, the fallback first
	plain     map[string]map[string]bool // language, key: it exists
	fixed     map[string]map[string]string
}

// load reads the embedded catalogues once; they cannot fail but by a slip in
// the files, which every test sees.
var load = sync.OnceValue(func() *catalogues {
	c := &catalogues{
		bundle: i18n.NewBundle(language.English),
		plain:  map[string]map[string]bool{},
		fixed:  map[string]map[string]string{},
	}
	c.bundle.RegisterUnmarshalFunc("toml", toml.Unmarshal)
	names, err := fs.Glob(files, "catalogue/*.toml")
	if err != nil {
		panic("words: " + err.Error())
	}
	for _, name := range names {
		file, err := c.bundle.LoadMessageFileFS(files, name)
		if err != nil {
			panic("words: " + name + ": " + err.Error())
		}
		tag := file.Tag.String()
		if c.plain[tag] == nil {
			c.plain[tag], c.fixed[tag] = map[string]bool{}, map[string]string{}
			c.languages = append(c.languages, tag)
		}
		for _, m := range file.Messages {
			if c.plain[tag][m.ID] {
				panic("words: " + name + ": key " + m.ID + " stands twice")
			}
			c.plain[tag][m.ID] = true
			if m.One == "" && m.Few == "" && m.Many == "" && !strings.Contains(m.Other, "{{") {
				c.fixed[tag][m.ID] = m.Other
			}
		}
	}
	sort.Slice(c.languages, func(i, j int) bool {
		return c.languages[i] == "en" || c.languages[j] != "en" && c.languages[i] < c.languages[j]
	})
	return c
})

// Languages returns the languages that have a catalogue, English first.
func Languages() []string { return append([]string(nil), load().languages...) }

// Keys returns every key of the English catalogue, sorted.
func Keys() []string {
	c := load()
	out := make([]string, 0, len(c.plain["en"]))
	for k := range c.plain["en"] {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// Has tells whether the English catalogue has the key.
func Has(key string) bool { return load().plain["en"][key] }

// Speaker says things in one language, in one farm's measures and at one
// farm's clock. It is read-only after New and may be shared.
type Speaker struct {
	lang           string
	measures       Measures
	zone           *time.Location
	localizer      *i18n.Localizer
	fixed          map[string]string
	decimal, group string
}

// New returns a speaker. An unknown language speaks English, unknown measures
// are metric, and without a zone times are said in UTC.
func New(lang string, measures Measures, zone *time.Location) *Speaker {
	c := load()
	tag := "en"
	for _, l := range c.languages {
		if lang == l || strings.HasPrefix(lang, l+"-") {
			tag = l
		}
	}
	if measures != US {
		measures = Metric
	}
	if zone == nil {
		zone = time.UTC
	}
	s := &Speaker{lang: tag, measures: measures, zone: zone, fixed: c.fixed[tag]}
	s.localizer = i18n.NewLocalizer(c.bundle, tag)
	s.decimal, s.group = s.T("format.decimal"), s.T("format.group")
	return s
}

// Language returns the tag of the language spoken.
func (s *Speaker) Language() string { return s.lang }

// Measures returns the measures spoken.
func (s *Speaker) Measures() Measures { return s.measures }

// Zone returns the zone of the farm's clock.
func (s *Speaker) Zone() *time.Location { return s.zone }

// T says the key with arguments given as pairs of name and value. The argument
// "count", a whole number, also chooses the plural. A key that the language
// lacks is said in English; one that English lacks is said as its own last
// words, so that a page never shows nothing.
func (s *Speaker) T(key string, pairs ...any) string {
	if len(pairs) == 0 {
		if t, ok := s.fixed[key]; ok {
			return t
		}
	}
	args := make(map[string]any, len(pairs)/2)
	for i := 0; i+1 < len(pairs); i += 2 {
		args[fmt.Sprint(pairs[i])] = pairs[i+1]
	}
	return s.say(key, args)
}

// Sentence says a reason: its key with its arguments, each number with the unit
// that its name carries. Where an argument "x_g_per_l" has companions
// "x_g_per_l_low" and "x_g_per_l_high", the catalogue may also use
// "x_g_per_l_spread" (0.55–0.69), "x_g_per_l_full" (0.62 g/L (0.55–0.69)) and
// "x_g_per_l_range" (0.55–0.69 g/L).
func (s *Speaker) Sentence(r advice.Reason) string { return s.say(r.Key, r.Args) }

// Sentence says a reason in a language and in a farm's measures, with times in
// UTC; a Speaker also knows the farm's clock.
func Sentence(lang string, measures Measures, r advice.Reason) string {
	return New(lang, measures, nil).Sentence(r)
}

// Try says the key like Sentence; ok is false where the catalogue lacks it or
// an argument that it needs is not there, and then nothing should be shown.
func (s *Speaker) Try(key string, args map[string]any) (text string, ok bool) {
	if !Has(key) {
		return "", false
	}
	text = s.say(key, args)
	return text, text != readable(key)
}

func (s *Speaker) say(key string, args map[string]any) string {
	if key == "" {
		return ""
	}
	if len(args) == 0 {
		if t, ok := s.fixed[key]; ok {
			return t
		}
	}
	data := make(map[string]any, len(args)+4)
	for name, v := range args {
		s.argument(data, name, v, args)
	}
	cfg := &i18n.LocalizeConfig{MessageID: key, TemplateData: data}
	if n, ok := whole(args["count"]); ok {
		cfg.PluralCount = n
		data["count"] = s.text(float64(n), 1)
		data["count_word"] = s.Count(n)
	}
	// Localize gives the English text together with an error when the language
	// lacks the key; only an empty text means that there is none at all.
	text, _ := s.localizer.Localize(cfg)
	if text == "" || strings.Contains(text, "<no value>") {
		return readable(key)
	}
	return text
}

// argument puts the argument of that name into data as the templates use it.
func (s *Speaker) argument(data map[string]any, name string, v any, all map[string]any) {
	switch x := v.(type) {
	case num.Band:
		said := s.Band(name, x)
		data[name], data[name+"_spread"], data[name+"_full"], data[name+"_range"] = said.Plain(), said.Spread, said.Full(), said.Range()
		return
	case map[string]any: // a band that came through JSON
		low, ok1 := number(x["low"])
		mid, ok2 := number(x["mid"])
		high, ok3 := number(x["high"])
		if ok1 && ok2 && ok3 {
			s.argument(data, name, num.Band{Low: low, Mid: mid, High: high}, all)
			return
		}
		data[name] = fmt.Sprint(v)
		return
	case time.Time:
		s.moment(data, name, x)
		return
	case string:
		if t, err := time.Parse(time.RFC3339, x); err == nil {
			s.moment(data, name, t)
			return
		}
		data[name] = s.told(name, x)
		return
	case []string:
		told := make([]string, len(x))
		for i := range x {
			told[i] = s.told(strings.TrimSuffix(name, "s"), x[i])
		}
		data[name] = s.List(told)
		return
	case []any:
		told := make([]string, len(x))
		for i := range x {
			told[i] = s.told(strings.TrimSuffix(name, "s"), fmt.Sprint(x[i]))
		}
		data[name] = s.List(told)
		return
	}
	x, ok := number(v)
	if !ok {
		data[name] = fmt.Sprint(v)
		return
	}
	if name == "chance" || strings.HasSuffix(name, "_chance") {
		data[name] = s.chance(x)
		return
	}
	low, high, spread := companions(name, all)
	quantity := name
	// "value" and "expected" are in the unit of what "quantity" names.
	if of, ok := all["quantity"].(string); ok && (name == "value" || name == "expected") {
		quantity = of
	}
	switch {
	case name == "value":
		data[name] = s.Read(quantity, x).Plain()
		return
	case !spread:
		data[name] = s.Number(quantity, x).Plain()
		return
	}
	said := s.Band(quantity, num.Band{Low: low, Mid: x, High: high})
	data[name], data[name+"_spread"], data[name+"_full"], data[name+"_range"] = said.Plain(), said.Spread, said.Full(), said.Range()
}

// moment puts a time into data: in full, and its day and clock by themselves.
func (s *Speaker) moment(data map[string]any, name string, t time.Time) {
	data[name], data[name+"_day"], data[name+"_clock"] = s.When(t), s.Day(t), s.Clock(t)
}

// chance says a probability [1] as times in ten, and never as certain.
func (s *Speaker) chance(p float64) string {
	n := min(max(int(math.Round(10*p)), 0), 10)
	switch n {
	case 0:
		return s.T("format.chance.hardly")
	case 1:
		return s.T("format.chance.once")
	case 10:
		return s.T("format.chance.nearly")
	}
	return s.T("format.chance.times", "n", strconv.Itoa(n))
}

// told says a text argument: a word that the catalogue
// has under the argument's name ("salt.KNO3") as the catalogue says it, and
// anything else as it is.
func (s *Speaker) told(name, text string) string {
	if strings.HasSuffix(name, "date") {
		if t, err := time.ParseInLocation(time.DateOnly, text, s.zone); err == nil {
			return s.Day(t)
		}
	}
	if key := name + "." + text; Has(key) {
		return s.T(key)
	}
	return text
}

// companions finds the low and high ends that belong to an argument.
func companions(name string, all map[string]any) (low, high float64, ok bool) {
	low, ok1 := number(all[name+"_low"])
	high, ok2 := number(all[name+"_high"])
	return low, high, ok1 && ok2
}

// readable makes the last words of a key fit to be read: "reason.harvest.dark"
// becomes "harvest, dark".
func readable(key string) string {
	parts := strings.Split(key, ".")
	if len(parts) > 1 {
		parts = parts[1:]
	}
	t := strings.NewReplacer("_", " ", "-", " ").Replace(strings.Join(parts, ", "))
	return t
}

func number(v any) (float64, bool) {
	switch x := v.(type) {
	case float64:
		return x, true
	case float32:
		return float64(x), true
	case int:
		return float64(x), true
	case int64:
		return float64(x), true
	case interface{ Float64() (float64, error) }: // json.Number
		f, err := x.Float64()
		return f, err == nil
	}
	return 0, false
}

func whole(v any) (int, bool) {
	f, ok := number(v)
	if !ok || f != float64(int(f)) {
		return 0, false
	}
	return int(f), true
}
