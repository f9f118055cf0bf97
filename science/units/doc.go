// Package units reads and prints the measures that people say: "1 1/2 cups",
// "3 five-gallon buckets", "2,4 cm", "95 F", "12 g/L", "1:10".
//
// [Parse] turns words into one number in the inner unit of a [Kind]; [Format]
// turns the number back into words with no more digits than its spread earns;
// [Kitchen] says a volume in cups and spoons and tells what the rounding did.
// Where a word has two meanings (an ounce, a tablespoon written T, 1,000) the
// farm's [System] or the kind that was asked for decides, a [Note] says what
// was decided, and where neither decides the [Error] asks. All arithmetic of
// Parse is exact; it rounds once, at the end.
package units
