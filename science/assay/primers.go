package assay

// Primers is one published assay: a pair of primers and the product that shows
// on a gel. A gene is not a toxin, and one gene that is not found clears nothing:
// members of one toxin's cluster disagree in the field (ribeiro2020).
type Primers struct {
	Name      string
	Gene      string
	For       string   // what a band would mean
	Forward   string   // 5' to 3'
	Reverse   []string // 5' to 3'; more than one are mixed in equal parts
	ProductBP float64  // length of the product [bp]
	AnnealC   float64  // annealing temperature to begin with [°C]
	Source    string
	Unread    string // what of the row is from memory, empty if nothing is
}

var primers = []Primers{
	{"hep", "mcyE/ndaF", "microcystin or nodularin genes", "TTTGGGGTTAACTTTTTTGGGCATAGTC", []string{"AATTCTTGAGGCTGTAAATCGGGTTT"}, 472, 52, "jungblut2006", "sequences and annealing"},
	{"mcya-cd", "mcyA", "microcystin genes", "AAAATTAAAAGCCGTATCAAA", []string{"AAAAGTGTTTTATTAGCGGCTCAT"}, 297, 59, "hisbergues2003", "length and annealing"},
	{"mcye-general", "mcyE", "microcystin genes", "GAAATTTGTGTAGAAGGTGC", []string{"AATTCTAAAGCCCAAAGACG"}, 809, 56, "rantala2004", "reverse primer, length and annealing"},
	{"anac", "anaC", "anatoxin genes", "TCTGGTATTCAGTCCCCTCTAT", []string{"CCCAATAGCCTGTCATCAA"}, 366, 58, "rantalaylinen2011", "sequences, length and annealing"},
	{"sxta", "sxtA", "saxitoxin genes", "GACTCGGCTTGTTGCTTCCCC", []string{"GCCAAACTCGCAACAGGAGAAGG"}, 648, 61, "ballot2010", "sequences, length and annealing"},
	{"cyrj", "cyrJ", "cylindrospermopsin genes", "ACTTCTCTCCTTTCCCTATC", []string{"GAGTGAAAATGCGTAGAACTTG"}, 584, 57, "mihali2008", "sequences, length and annealing"},
	{"16s-106", "16S", "cyanobacteria: the companion that shows an extract can be copied", "CGGACGGGTGAGTAACGCGTGA", []string{"GACTACTGGGGTATCTAATCCCATT", "GACTACAGGGGTATCTAATCCCTTT"}, 700, 60, "nubel1997", "annealing"},
	{"16s-359", "16S", "cyanobacteria; its product cannot be told from hep's on a routine gel", "GGGGAATYTTCCGCAATGGG", []string{"GACTACTGGGGTATCTAATCCCATT", "GACTACAGGGGTATCTAATCCCTTT"}, 447, 60, "nubel1997", "annealing"},
}

// PrimerSets returns the published assays.
func PrimerSets() []Primers { return append([]Primers(nil), primers...) }

// PrimerSet returns the assay of that name.
func PrimerSet(name string) (Primers, bool) {
	for _, p := range primers {
		if p.Name == name {
			return p, true
		}
	}
	return Primers{}, false
}

// KnownLadder is a ladder by its lengths alone.
type KnownLadder struct {
	Name   string
	BP     []float64 // from the longest [bp]
	Source string
}

var knownLadders = []KnownLadder{
	{"lambda-hindiii", []float64{23130, 9416, 6557, 4361, 2322, 2027, 564, 125}, "restriction map of phage lambda, commonly tabulated"},
	{"100bp", []float64{1500, 1000, 900, 800, 700, 600, 500, 400, 300, 200, 100}, "common practice, from memory: see the leaflet of one's own"},
	{"100bp-plasmid", []float64{1517, 1200, 1000, 900, 800, 700, 600, 517, 500, 400, 300, 200, 100}, "common practice, from memory: see the leaflet of one's own"},
	{"1kb", []float64{10000, 8000, 6000, 5000, 4000, 3000, 2000, 1500, 1000, 500}, "common practice, from memory: see the leaflet of one's own"},
}

// KnownLadders returns the lengths of common ladders.
func KnownLadders() []KnownLadder { return append([]KnownLadder(nil), knownLadders...) }
