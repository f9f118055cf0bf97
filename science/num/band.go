package num

// Band is an estimate with its spread: the 10, 50 and 90 % quantiles, all in
// the unit of the quantity it stands for. Eight times in ten the truth should
// lie between Low and High.
type Band struct {
	Low  float64 `json:"low"`  // 10 % quantile [unit of its quantity]
	Mid  float64 `json:"mid"`  // median [unit of its quantity]
	High float64 `json:"high"` // 90 % quantile [unit of its quantity]
}
