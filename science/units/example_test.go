package units_test

import (
	"errors"
	"fmt"

	"sodalake/science/units"
)

func ExampleParse() {
	q, _ := units.Parse("3 five-gallon buckets", units.Volume, units.US)
	fmt.Println(units.Format(q.Value, q.Kind, units.Metric, 0))
	fmt.Println(q.Notes[0].Text)

	_, err := units.Parse("1 oz", units.Any, units.US)
	var e *units.Error
	if errors.As(err, &e) && e.Asks() {
		fmt.Println(e)
	}
	// Output:
	// 56.8 L
	// US gallon, 3.785 L
	// amount: "1 oz" may be volume or mass
}

func ExampleQuantity_In() {
	q, _ := units.Parse("2,4 cm", units.Length, units.Metric)
	v, _ := q.In("cm")
	fmt.Println(v)
	// Output: 2.4
}

func ExampleFormat() {
	fmt.Println(units.Format(0.512, units.Density, units.Metric, 0.06))
	fmt.Println(units.FormatBand(0.45, 0.57, units.Density, units.Metric))
	// Output:
	// 0.51 g/L
	// 0.45–0.57 g/L
}

func ExampleKitchenMass() {
	// At most 100 g of a powder of which a level US cup weighs 230 g.
	bulk, _ := units.Parse("230 g per US cup", units.Density, units.US)
	m, _ := units.KitchenMass(100, bulk.Value, units.US, units.Down)
	fmt.Printf("%s, %.0f g, %+.1f %%\n", m.Text, m.MassG, 100*m.ErrorShare)
	// Output: 1/3 US cup and 1 1/2 tbsp, 98 g, -1.8 %
}
