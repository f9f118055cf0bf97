// Package web serves the farm to browsers and to machines: pages that work
// without scripts, a JSON API under /api with its own description at
// /api/openapi.json, and the assets of both. It asks a Farm for everything and
// decides nothing about ponds.
package web
