"""A small identity provider on a loopback port: discovery, authorization with PKCE, tokens, keys. It does one thing wrong when
a test asks for it."""

import base64
import hashlib
import json
import secrets
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import jwt
from cryptography.hazmat.primitives.asymmetric import rsa

CLIENT, SECRET = "coldwright-pages", "a secret of the tests"


class IdentityProvider:
    """Whoever comes is `ann`, of the tenant `acme`, unless a test says otherwise."""

    def __init__(self, host: str = "127.0.0.1") -> None:
        self.key = rsa.generate_private_key(public_exponent=65537, key_size=2048)
        self.other_key = rsa.generate_private_key(public_exponent=65537, key_size=2048)
        self.claims: dict[str, Any] = {}
        self.signed_with_other_key = False
        self.refuses = False
        self.asks_something = False
        """Whether somebody must put something in, so that it refuses whoever asks it to ask nothing."""
        self.codes: dict[str, dict[str, str]] = {}
        self.asked: list[str] = []
        provider = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                parts = urlsplit(self.path)
                provider.asked.append(parts.path)
                query = {k: v[0] for k, v in parse_qs(parts.query).items()}
                if parts.path == "/.well-known/openid-configuration":
                    self.reply(200, provider.discovery())
                elif parts.path == "/keys":
                    self.reply(200, provider.keys())
                elif parts.path == "/end":
                    self.send_response(302)
                    self.send_header("Location", query["post_logout_redirect_uri"])
                    self.end_headers()
                elif parts.path == "/authorize":
                    self.send_response(302)
                    self.send_header("Location", provider.authorize(query))
                    self.end_headers()
                else:
                    self.reply(404, {})

            def do_POST(self) -> None:
                provider.asked.append(self.path)
                sent = parse_qs(self.rfile.read(int(self.headers["content-length"])).decode())
                status, body = provider.give({k: v[0] for k, v in sent.items()}, self.headers.get("authorization", ""))
                self.reply(status, body)

            def reply(self, status: int, body: dict[str, Any]) -> None:
                content = json.dumps(body).encode()
                self.send_response(status)
                self.send_header("Content-Type", "application/json")
                self.send_header("Content-Length", str(len(content)))
                self.end_headers()
                self.wfile.write(content)

            def log_message(self, *_: object) -> None:
                return

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.issuer = f"http://{host}:{self.server.server_port}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def settings(self, public_url: str) -> dict[str, str]:
        """With which a service is its client."""
        return {
            "oidc_issuer": self.issuer, "oidc_client_id": CLIENT, "oidc_client_secret": SECRET, "public_url": public_url,
        }  # fmt: skip

    def discovery(self) -> dict[str, Any]:
        """OpenID Connect Discovery 1.0, section 3."""
        return {
            "issuer": self.issuer,
            "authorization_endpoint": f"{self.issuer}/authorize",
            "token_endpoint": f"{self.issuer}/token",
            "jwks_uri": f"{self.issuer}/keys",
            "end_session_endpoint": f"{self.issuer}/end?of=somebody",
            "response_types_supported": ["code"],
        }

    def keys(self) -> dict[str, Any]:
        """The public key alone."""
        jwk = json.loads(jwt.algorithms.RSAAlgorithm.to_jwk(self.key.public_key()))
        return {"keys": [jwk | {"kid": "one", "use": "sig", "alg": "RS256"}]}

    def authorize(self, query: dict[str, str]) -> str:
        """Back to where the client said, with a code for once; or with the reason why not."""
        assert query["response_type"] == "code"
        assert query["client_id"] == CLIENT
        assert query["code_challenge_method"] == "S256"
        assert "openid" in query["scope"].split()
        back = {"state": query["state"], "iss": self.issuer, "session_state": "something of its own"}
        if query.get("prompt") == "none" and self.asks_something:
            return f"{query['redirect_uri']}?{urlencode(back | {'error': 'login_required'})}"
        if self.refuses:
            return f"{query['redirect_uri']}?{urlencode(back | {'error': 'access_denied'})}"
        code = secrets.token_urlsafe(16)
        self.codes[code] = query
        return f"{query['redirect_uri']}?{urlencode(back | {'code': code})}"

    def give(self, sent: dict[str, str], authorization: str) -> tuple[int, dict[str, Any]]:
        """The tokens for a code: once, to the client, to whoever has the verifier (RFC 7636, 4.6)."""
        asked = self.codes.pop(sent.get("code", ""), None)
        known = base64.b64encode(f"{CLIENT}:{SECRET}".encode()).decode()
        challenge = base64.urlsafe_b64encode(hashlib.sha256(sent.get("code_verifier", "").encode()).digest())
        if (
            asked is None
            or authorization != f"Basic {known}"
            or asked["code_challenge"] != challenge.decode().rstrip("=")
            or asked["redirect_uri"] != sent["redirect_uri"]
        ):
            return 400, {"error": "invalid_grant"}
        now = int(time.time())
        claims = {"iss": self.issuer, "aud": CLIENT, "sub": "ann", "tenant": "acme", "iat": now, "exp": now + 60}
        claims |= {"nonce": asked["nonce"], "scope": "calculate book fleet field"} | self.claims
        key = self.other_key if self.signed_with_other_key else self.key
        token = jwt.encode(
            {k: v for k, v in claims.items() if v is not None}, key, algorithm="RS256", headers={"kid": "one"}
        )
        return 200, {"access_token": "opaque", "token_type": "Bearer", "id_token": token}

    def stop(self) -> None:
        """No more answers."""
        self.server.shutdown()
        self.server.server_close()
