package calc

// All returns the registry of every calculator.
func All() *Registry {
	return NewRegistry(Mix(), AdjustPH(), FeedBack(), Dechlorinate(), Carbon(), Salt(), Water(), Sun(), Evaporation(), Volume(), Density(), Rinse(), Press(), Drying(), Keep(), Count(), Gel(), PCR(), Portion(), Harvest(), Inoculate(), Light(), Heat(), BatterySize(), Pump(), Cost())
}
