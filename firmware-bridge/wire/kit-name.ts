/** A kit's name: `urn:dev:` and what names the device (RFC 9039); short enough to be shown. */
export const kitPattern = /^urn:dev:[a-z0-9]+:[A-Za-z0-9\-:.]{1,100}$/;
