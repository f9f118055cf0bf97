package assay

// Analytes are the keys of what limits speak of.
const (
	Lead         = "lead"
	Cadmium      = "cadmium"
	Mercury      = "mercury"
	Arsenic      = "arsenic"
	Microcystin  = "microcystin"
	BaP          = "benzo-a-pyrene"
	PAH4         = "pah4"
	Moisture     = "moisture"
	AerobicFlora = "aerobic-count"
	Yeasts       = "yeasts-and-moulds"
	Coliforms    = "coliforms"
	BileGramNeg  = "bile-tolerant-gram-negative"
	EColi        = "e-coli"
	SAureus      = "s-aureus"
	Salmonella   = "salmonella"
	BCereus      = "b-cereus"
)

const (
	asSold    = "food supplements, as sold"
	driedHerb = "dried or powdered botanicals"
	withHerb  = "nutritional supplements with botanicals"
	algaTrade = "spirulina sold as an ingredient"
	dried     = "dried spirulina"
	ownPlan   = "the default plan of this program for dried product"
	powderGB  = "spirulina powder for food"
)

// limits holds every limit with where it was read. Dates are from memory where
// Read says so.
var limits = []Limit{
	// European Union. Spirulina is no seaweed: cadmium 1.0, the stricter of the two rows.
	{"eu", Lead, MassShare, 3.0, 0, Law, "2023-05-25", asSold, "eu2023", "quoted"},
	{"eu", Cadmium, MassShare, 1.0, 0, Law, "2023-05-25", asSold, "eu2023", "quoted"},
	{"eu", Mercury, MassShare, 0.10, 0, Law, "2023-05-25", asSold, "eu2023", "quoted"},
	{"eu", BaP, MassShare, 0.010, 0, Law, "2016-04-01", "food supplements with spirulina", "eu2015", "quoted"},
	{"eu", PAH4, MassShare, 0.050, 0, Law, "2016-04-01", "food supplements with spirulina", "eu2015", "quoted"},
	{"eu", AerobicFlora, PerGram, 1e5, 0, Advice, "2019", dried, "jfoodquality2019", "quoted"},
	{"eu", Yeasts, PerGram, 1e4, 0, Advice, "2019", dried, "jfoodquality2019", "quoted"},

	// United States.
	{"us", Microcystin, MassShare, 1, 0, Advice, "1997", "blue-green algae products (a state's limit)", "gilroy2000", "abstract"},
	{"us", AerobicFlora, PerGram, 1e5, 0, Advice, "", driedHerb, "usp2023", "part"},
	{"us", Yeasts, PerGram, 1e3, 0, Advice, "", driedHerb, "usp2023", "part"},
	{"us", BileGramNeg, PerGram, 1e3, 0, Advice, "", driedHerb, "usp2023", "part"},
	{"us", EColi, PerGram, 0, 10, Advice, "", driedHerb, "usp2023", "part"},
	{"us", Salmonella, PerGram, 0, 10, Advice, "", driedHerb, "usp2023", "part"},
	{"us", AerobicFlora, PerGram, 1e4, 0, Advice, "", withHerb, "usp2023", "part"},
	{"us", Yeasts, PerGram, 1e3, 0, Advice, "", withHerb, "usp2023", "part"},

	// France.
	{"fr", Microcystin, MassShare, 1, 0, Advice, "2017", "supplements of Klamath algae; no figure for spirulina", "ansesopinion2017", "part"},
	{"fr", AerobicFlora, PerGram, 1e5, 0, Advice, "", dried, "jourdan2014", "memory"},
	{"fr", Coliforms, PerGram, 10, 0, Advice, "", dried, "jourdan2014", "memory"},
	{"fr", SAureus, PerGram, 100, 0, Advice, "", dried, "jourdan2014", "memory"},
	{"fr", Salmonella, PerGram, 0, 25, Advice, "", dried, "jourdan2014", "memory"},

	// China: what sellers promise, and the standard of 1997.
	{"cn", Lead, MassShare, 0.9, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", Cadmium, MassShare, 0.2, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", Mercury, MassShare, 0.05, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", Arsenic, MassShare, 0.5, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", AerobicFlora, PerGram, 1e5, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", Yeasts, PerGram, 100, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", Coliforms, PerGram, 30, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", SAureus, PerGram, 100, 0, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", Salmonella, PerGram, 0, 25, Trade, "", algaTrade, "trade specifications of ingredient sellers", "part"},
	{"cn", Lead, MassShare, 2.0, 0, Law, "1997", powderGB, "gb16919", "memory"},
	{"cn", Cadmium, MassShare, 0.2, 0, Law, "1997", powderGB, "gb16919", "memory"},
	{"cn", Mercury, MassShare, 0.05, 0, Law, "1997", powderGB, "gb16919", "memory"},
	{"cn", Arsenic, MassShare, 0.5, 0, Law, "1997", powderGB, "gb16919", "memory"},
	{"cn", Moisture, MassShare, 7e4, 0, Law, "1997", powderGB, "gb16919", "memory"},
	{"cn", AerobicFlora, PerGram, 5e4, 0, Law, "1997", powderGB, "gb16919", "memory"},

	// The default plan: for a farm that has not set its own.
	{"farm", Lead, MassShare, 3.0, 0, House, "", ownPlan, "as eu; the share of a portion is shown beside it", "quoted"},
	{"farm", Cadmium, MassShare, 1.0, 0, House, "", ownPlan, "as eu", "quoted"},
	{"farm", Mercury, MassShare, 0.10, 0, House, "", ownPlan, "as eu", "quoted"},
	{"farm", Arsenic, MassShare, 0.5, 0, House, "", ownPlan, "as the trade specifications", "quoted"},
	{"farm", Microcystin, MassShare, 1, 0, House, "", ownPlan, "as us; a high portion needs less, see portion", "abstract"},
	{"farm", BaP, MassShare, 0.010, 0, House, "", ownPlan, "as eu, where smoke or flue gas can reach the dryer", "quoted"},
	{"farm", PAH4, MassShare, 0.050, 0, House, "", ownPlan, "as eu, where smoke or flue gas can reach the dryer", "quoted"},
	{"farm", Moisture, MassShare, 7e4, 0, House, "", ownPlan, "tiendrebeogo2015 for a water activity of 0.60", "abstract"},
	{"farm", AerobicFlora, PerGram, 1e5, 0, House, "", ownPlan, "judgement", "quoted"},
	{"farm", Yeasts, PerGram, 1e3, 0, House, "", ownPlan, "judgement", "quoted"},
	{"farm", Coliforms, PerGram, 10, 0, House, "", ownPlan, "judgement: an alert, not a bar", "quoted"},
	{"farm", EColi, PerGram, 0, 10, House, "", ownPlan, "judgement", "quoted"},
	{"farm", SAureus, PerGram, 100, 0, House, "", ownPlan, "judgement", "quoted"},
	{"farm", Salmonella, PerGram, 0, 25, House, "", ownPlan, "judgement", "quoted"},
	{"farm", BCereus, PerGram, 1e3, 0, House, "", ownPlan, "judgement", "quoted"},
}

var dailyLimits = []DailyLimit{
	{"us-usp", Lead, 5, Advice, "usp2232", "memory"},
	{"us-usp", Cadmium, 5, Advice, "usp2232", "memory"},
	{"us-usp", Mercury, 15, Advice, "usp2232", "memory"},
	{"us-usp", Arsenic, 15, Advice, "usp2232 (inorganic)", "memory"},
	{"us-california", Lead, 0.5, Law, "prop65", "quoted"},
	{"us-california", Cadmium, 4.1, Law, "prop65", "quoted"},
	{"us-california", Arsenic, 10, Law, "prop65", "quoted"},
}
