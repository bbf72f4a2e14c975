package problem

import (
	"errors"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// OfTOML words an error of a strict TOML decoder: each unknown key with its line and the
// nearest known key, or what cannot be read.
func OfTOML(err error, file string, known []string) (list List) {
	var strict *toml.StrictMissingError
	var decode *toml.DecodeError
	switch {
	case errors.As(err, &strict):
		for i := range strict.Errors {
			line, _ := strict.Errors[i].Position()
			key := strict.Errors[i].Key()
			list.Add(file, line, strings.Join(key, "."), "unknown key%s", Suggest(key[len(key)-1], known))
		}
	case errors.As(err, &decode):
		line, _ := decode.Position()
		list.Add(file, line, strings.Join(decode.Key(), "."), "%s", strings.TrimPrefix(decode.Error(), "toml: "))
	default:
		list.Add(file, 0, "", "%s", strings.TrimPrefix(err.Error(), "toml: "))
	}
	return list
}
