package farm

// Vessel is a vessel as the journal describes it. (The farm helper owns this type.)
type Vessel struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}
