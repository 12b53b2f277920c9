// Asking our part of the Jupyter server. Where it is not installed, `null` is the answer.

export function asking(services, settings) {
  const { ServerConnection } = services;
  return async (what, body) => {
    const init = body === undefined ? {} : { method: "POST", body: JSON.stringify(body) };
    try {
      const answer = await ServerConnection.makeRequest(`${settings.baseUrl}refinish/${what}`, init, settings);
      if (answer.ok) return await answer.json();
      if (answer.status === 400) return { problem: (await answer.json()).message };
      return null;
    } catch {
      return null; // no server at the moment
    }
  };
}
