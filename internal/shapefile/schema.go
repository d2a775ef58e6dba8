package shapefile

import _ "embed" // for the schema

//go:embed schema.json
var schema string

// Schema returns the JSON Schema (draft 7) of the JSON form.
func Schema() []byte { return []byte(schema) }
