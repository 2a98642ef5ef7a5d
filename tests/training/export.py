"""Write the trained reader as the program takes it: `export.py EXAMPLES.json TRAINED OUT`.

The encoder becomes an ONNX graph whose weights are 8-bit whole numbers with one scale a row; it computes in 32-bit
floats, so that every machine gives the same answer. One that was trained on top of another (`train.py --on OUT`)
becomes a second graph, which takes the large weights out of the first's file. The heads, small, are a numpy file.
"""

import json
import math
import shutil
import sys
from pathlib import Path

import numpy as np
import onnx
from network import HEADS, LAYERS, WIDTH, Encoder
from onnx import TensorProto, helper, numpy_helper
from train import base_folder

Array = np.ndarray
OPSET = 17
# In bytes: no smaller constant is taken out of another file.
LARGE = 4_096


class Graph:
    """An ONNX graph in the making."""

    def __init__(self) -> None:
        self.nodes: list[onnx.NodeProto] = []
        self.constants: list[onnx.TensorProto] = []
        self._count = 0

    def constant(self, value: Array) -> str:
        name = f"c{len(self.constants)}"
        self.constants.append(numpy_helper.from_array(np.array(value, order="C"), name))
        return name

    def do(self, op: str, *inputs: str, outputs: int = 1, **attributes: object) -> str:
        names = [f"v{self._count + i}" for i in range(outputs)]
        self._count += outputs
        self.nodes.append(helper.make_node(op, list(inputs), names, **attributes))
        return names[0]

    def small(self, weight: Array) -> str:
        """A matrix (in, out) kept in 8 bits with one scale a column."""
        scale = np.maximum(np.abs(weight).max(0), 1e-8) / 127
        whole = np.round(weight / scale).astype(np.int8)
        return self.do("DequantizeLinear", self.constant(whole), self.constant(scale.astype(np.float32)), axis=1)

    def halves(self, matrix: Array) -> str:
        """A matrix kept in 16-bit floats."""
        return self.do("Cast", self.constant(matrix.astype(np.float16)), to=TensorProto.FLOAT)

    def linear(self, x: str, w: dict[str, Array], name: str, rows: slice = slice(None)) -> str:
        """x times the transpose of rows of a torch weight (out, in), plus bias. What was learned on top is multiplied by x
        on its own: summed at loading, the matrices would stand in memory twice."""
        owner, dot, last = name.rpartition(".")
        learned = f"{owner}{dot}parametrizations.{last}weight.0."
        made = self.do("MatMul", x, self.small(w[f"{name}weight"][rows].T))
        if f"{learned}up" in w:
            up, down = self.halves(w[f"{learned}up"][rows].T), self.halves(w[f"{learned}down"].T)
            made = self.do("Add", made, self.do("MatMul", self.do("MatMul", x, down), up))
        return self.do("Add", made, self.constant(w[f"{name}bias"][rows]))

    def norm(self, x: str, weight: Array, bias: Array) -> str:
        return self.do("LayerNormalization", x, self.constant(weight), self.constant(bias), axis=-1, epsilon=1e-12)


def encoder(w: dict[str, Array], words: Array, scale: Array) -> onnx.ModelProto:
    """Word pieces `ids` (batch, length) and `real` (1 where a piece stands) to `tokens` (batch, length, 384)."""
    g = Graph()
    whole = g.do("Cast", g.do("Gather", g.constant(words), "ids"), to=TensorProto.FLOAT)
    x = g.do("Mul", whole, g.do("Gather", g.constant(scale.astype(np.float32)), "ids"))
    length = g.do("Gather", g.do("Shape", "ids"), g.constant(np.array(1)))
    steps = g.do("Range", g.constant(np.array(0)), length, g.constant(np.array(1)))
    x = g.do("Add", x, g.do("Gather", g.constant(w["places.weight"]), steps))
    x = g.norm(x, w["norm.weight"], w["norm.bias"])
    away = g.do("Mul", g.do("Sub", g.constant(np.float32(1)), "real"), g.constant(np.float32(-1e9)))
    away = g.do("Unsqueeze", away, g.constant(np.array([1, 2])))
    split = g.constant(np.array([0, 0, HEADS, WIDTH // HEADS]))
    joined = g.constant(np.array([0, 0, WIDTH]))
    for i in range(LAYERS):
        layer = {k.removeprefix(f"layers.layers.{i}."): v for k, v in w.items() if k.startswith(f"layers.layers.{i}.")}
        parts = []
        for part, order in enumerate(([0, 2, 1, 3], [0, 2, 3, 1], [0, 2, 1, 3])):
            rows = slice(part * WIDTH, (part + 1) * WIDTH)
            made = g.linear(x, layer, "self_attn.in_proj_", rows)
            parts.append(g.do("Transpose", g.do("Reshape", made, split), perm=order))
        query, key, value = parts
        like = g.do("Mul", g.do("MatMul", query, key), g.constant(np.float32(1 / math.sqrt(WIDTH // HEADS))))
        mixed = g.do("MatMul", g.do("Softmax", g.do("Add", like, away), axis=-1), value)
        mixed = g.do("Reshape", g.do("Transpose", mixed, perm=[0, 2, 1, 3]), joined)
        mixed = g.linear(mixed, layer, "self_attn.out_proj.")
        x = g.norm(g.do("Add", x, mixed), layer["norm1.weight"], layer["norm1.bias"])
        inner = g.linear(x, layer, "linear1.")
        half = g.do("Mul", inner, g.constant(np.float32(0.5)))
        bent = g.do("Erf", g.do("Mul", inner, g.constant(np.float32(1 / math.sqrt(2)))))
        inner = g.do("Mul", half, g.do("Add", bent, g.constant(np.float32(1))))
        inner = g.linear(inner, layer, "linear2.")
        x = g.norm(g.do("Add", x, inner), layer["norm2.weight"], layer["norm2.bias"])
    g.nodes.append(helper.make_node("Identity", [x], ["tokens"]))
    shape = ["batch", "length"]
    graph = helper.make_graph(
        g.nodes,
        "encoder",
        [
            helper.make_tensor_value_info("ids", TensorProto.INT64, shape),
            helper.make_tensor_value_info("real", TensorProto.FLOAT, shape),
        ],
        [helper.make_tensor_value_info("tokens", TensorProto.FLOAT, [*shape, WIDTH])],
        g.constants,
    )
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", OPSET)], ir_version=8)
    onnx.checker.check_model(model)
    return model


def on_top_of(first: Path, learned: dict[str, Array]) -> onnx.ModelProto:
    """The graph of an encoder trained on top of that of another file, whose large constants stay there."""
    before = Encoder()
    before.load_shipped(first)
    w = {name: value.numpy() for name, value in before.state_dict().items()} | learned
    scale = np.abs(w["words.weight"]).max(1, keepdims=True) / 127
    model = encoder(w, np.round(w["words.weight"] / scale).astype(np.int8), scale)
    file = first.read_bytes()
    for constant in model.graph.initializer:
        at = file.find(constant.raw_data) if len(constant.raw_data) >= LARGE else -1
        if at >= 0:
            place = {"location": first.name, "offset": str(at), "length": str(len(constant.raw_data))}
            constant.ClearField("raw_data")
            constant.data_location = TensorProto.EXTERNAL
            constant.external_data.extend(onnx.StringStringEntryProto(key=k, value=v) for k, v in place.items())
    return model


def main() -> None:
    from safetensors.numpy import load_file

    examples, trained, out = sys.argv[1:]
    folder = Path(out)
    folder.mkdir(parents=True, exist_ok=True)
    state: dict[str, Array] = load_file(f"{trained}/weights.safetensors")
    body = {k.removeprefix("encoder."): v.astype(np.float32) for k, v in state.items() if k.startswith("encoder.")}
    if (words := Path(trained, "words.safetensors")).exists():
        whole = load_file(words)
        onnx.save(encoder(body, whole["words"], whole["scale"]), folder / "encoder.onnx")
    else:
        onnx.save(on_top_of(folder / "encoder.onnx", body), folder / "adapted.onnx")
    data = json.loads(Path(examples).read_text())
    heads = {k.removeprefix("heads."): v.astype(np.float16) for k, v in state.items() if k.startswith("heads.")}
    for name in ("faults", "techniques", "fixes"):
        heads[f"{name}.ids"] = np.array(data[name])
    np.savez_compressed(folder / "heads.npz", **heads)
    shutil.copy(base_folder() / "tokenizer.json", folder / "tokenizer.json")


if __name__ == "__main__":
    main()
